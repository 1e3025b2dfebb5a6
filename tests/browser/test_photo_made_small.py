"""A photo is made smaller on the phone, and without its place, before it is sent."""

from __future__ import annotations

from io import BytesIO
from pathlib import Path

import numpy as np
import pytest
from PIL import Image
from playwright.sync_api import Browser

from pictures_made import picture_with_place
from served import Served
from walking import Walk

pytestmark = pytest.mark.browser
CHOSEN = """async () => {
  const file = document.querySelector('#photos input[name=photo]').files[0];
  const picture = await createImageBitmap(file);
  const bytes = new Uint8Array(await file.arrayBuffer());
  return [picture.width, picture.height, file.type, file.size,
    new TextDecoder('latin1').decode(bytes).includes('SECRET')];
}"""


def test_a_photo_is_made_small(chromium: Browser, shop: Served, tmp_path: Path) -> None:
    """Tests size and type of what is sent, that its place is gone, and that it is kept."""
    noise = np.random.default_rng(1).integers(0, 255, (2000, 3000, 3), dtype=np.uint8)
    large = tmp_path / "large.jpg"
    Image.fromarray(noise).save(large, quality=95)
    placed = tmp_path / "placed.jpg"
    placed.write_bytes(picture_with_place())
    page = chromium.new_page(viewport={"width": 390, "height": 844})
    Walk(page, shop.address, by_axe=False).call()
    page.evaluate("document.querySelector('#photos').open = true")
    for file, longest in ((placed, 0), (large, 1600)):
        page.set_input_files("#photos input[name=photo]", file)
        page.locator("#photos input[data-small]").wait_for()
        width, height, kind, size, secret = page.evaluate(CHOSEN)
        assert (kind, secret) == ("image/jpeg", False)
        if longest:
            assert (width, height) == (1600, 1067)
            assert size < large.stat().st_size
    assert b"SECRET" in placed.read_bytes(), "else nothing was taken off"
    page.select_option("#photos select[name=when]", "before")
    page.click("text=Keep the photo")
    page.wait_for_selector("#photos img")
    shown = page.request.get(f"{shop.address}{page.get_attribute('#photos img', 'src')}").body()
    assert Image.open(BytesIO(shown)).size == (1600, 1067)
    assert "before the work" in page.inner_text("#line")
