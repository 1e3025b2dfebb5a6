"""``tubside serve``: the pages, on this machine or for the phones of the shop."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, TypedDict, Unpack

import click

if TYPE_CHECKING:
    from tubside.web.shop import Opened, OpenedLan, Shop

PORT = 8321


class Options(TypedDict):
    """What the command line told."""

    lan: bool
    public: str | None
    addresses: tuple[str, ...]
    certificate: Path | None
    key: Path | None
    port: int
    data: str | None
    packs: Path | None


FILE = click.Path(path_type=Path, dir_okay=False)


@click.command("serve")
@click.option("--lan", is_flag=True, help="Serve the shop's own network too, over https.")
@click.option("--public", metavar="NAME", help="Serve customers' links alone, under this name.")
@click.option(
    "--address", "addresses", multiple=True, help="With --lan or --public: an address to serve at."
)
@click.option("--certificate", type=FILE, help="With --public: the certificate, the whole chain.")
@click.option("--key", type=FILE, help="With --public: the key of the certificate.")
@click.option(
    "--port", default=PORT, show_default=True, type=click.IntRange(0, 65534), help="Port."
)
@click.option("--data", metavar="FOLDER", help="Where the data is: a folder, or postgresql://...")
@click.option("--packs", type=click.Path(path_type=Path, file_okay=False), help="Folder of packs.")
def serve_command(**told: Unpack[Options]) -> None:
    """Serve the pages until Ctrl+C.

    Without --lan they are for this machine only (127.0.0.1). With --lan, phones of
    the same network can open them: that needs an account (tubside user add NAME),
    and each phone has to trust the shop's certificate once; what is printed leads
    there. With port 0 a free one is taken.

    With --public NAME the internet sees what customers are sent links to, and nothing
    else: over https with --certificate and --key, or at 127.0.0.1 for a reverse proxy
    of yours that holds the certificate. Run it beside the other one.
    """
    _check(told)
    with _shop(told["data"], told["packs"]) as shop:
        if told["public"] is not None:
            _serve_public(shop, told["public"], told)
        elif told["lan"]:
            _serve_lan(shop, told["addresses"], told["port"], _tls_folder(told["data"]))
        else:
            _serve_here(shop, told["port"])


def _check(told: Options) -> None:
    if told["lan"] and told["public"] is not None:
        msg = "--lan and --public are two servers; start each by itself"
        raise click.UsageError(msg)
    if told["addresses"] and not told["lan"] and told["public"] is None:
        msg = "--address goes with --lan or --public; else only this machine (127.0.0.1) is served"
        raise click.UsageError(msg)
    if (told["certificate"] or told["key"]) and told["public"] is None:
        msg = "--certificate and --key go with --public; with --lan the shop signs its own"
        raise click.UsageError(msg)


def _serve_public(shop: Shop, name: str, told: Options) -> None:
    from tubside.web.public_serving import PublicPlace, addresses_of, files_of, open_public  # noqa: PLC0415

    files = files_of(told["certificate"], told["key"])
    opened = open_public(
        shop, PublicPlace(name, told["port"], files, addresses_of(told["addresses"]))
    )
    port = opened.main.sockets[0].getsockname()[1]
    if files is None:
        click.echo(f"Your proxy passes {opened.address} on to http://127.0.0.1:{port}")
    click.echo(f"Links for customers now begin with {opened.address}")
    _until_stopped(opened)


def serve_demo_shop(port: int = PORT) -> None:
    """Fill a database of its own with the demo shop and serve it until Ctrl+C.

    The database is thrown away at the end. When the port is taken, a free one is used.
    """
    from tempfile import TemporaryDirectory  # noqa: PLC0415  # start-up stays fast
    from uuid import uuid4  # noqa: PLC0415

    from tubside.cli.app_extra import require_app  # noqa: PLC0415
    from tubside.errors import ServingError  # noqa: PLC0415

    require_app()
    from tubside.service.demo_shop import fill  # noqa: PLC0415
    from tubside.web.shop import open_here  # noqa: PLC0415

    with TemporaryDirectory(prefix="tubside-demo-") as folder, _shop(folder, None) as shop:
        click.echo("Filling the demo shop ...")
        fill(shop.store, shop.library, shop.clock(), lambda: uuid4().hex)
        try:
            opened = open_here(shop, port)
        except ServingError:
            opened = open_here(shop, 0)
        click.echo(
            "The demo shop has twelve jobs, and follows New Zealand's rules; what you change is "
            "thrown away at the end."
        )
        click.echo(
            "The guide for its customers is under 'Customers' front door'; 'tubside guide build "
            "--out guide' writes one about the same machines."
        )
        _until_stopped(opened)


@contextmanager
def _shop(data: str | None, packs: Path | None) -> Iterator[Shop]:
    from datetime import UTC, datetime  # noqa: PLC0415

    from tubside.cli.app_extra import require_app  # noqa: PLC0415

    require_app()
    from tubside.service import data_folder  # noqa: PLC0415
    from tubside.service.library import Library  # noqa: PLC0415
    from tubside.web.shop import Shop  # noqa: PLC0415

    def clock() -> datetime:
        return datetime.now(UTC)

    place = data or data_folder.default_folder()
    store = data_folder.open_data(place, clock)
    try:
        models, layers = data_folder.models_folder(place), data_folder.layers_folder(place)
        yield Shop(store, Library(packs, models, layers), clock)
    finally:
        store.close()


def _serve_here(shop: Shop, port: int) -> None:
    from tubside.service.logins import has_users  # noqa: PLC0415
    from tubside.web.shop import open_here  # noqa: PLC0415

    opened = open_here(shop, port)
    if not has_users(shop.store):
        click.echo("There is no account, so who uses this machine sees everything.")
    _until_stopped(opened)


def _until_stopped(opened: Opened) -> None:
    from tubside.web.serving import serve  # noqa: PLC0415

    click.echo(f"Serving at {opened.address}  (Ctrl+C ends it)")
    serve(opened.main)


def _serve_lan(shop: Shop, addresses: Sequence[str], port: int, folder: Path) -> None:
    from tubside.web.lan.addresses import chosen_reach, lan_reach  # noqa: PLC0415
    from tubside.web.serving import serve  # noqa: PLC0415
    from tubside.web.shop import open_lan  # noqa: PLC0415

    reach = chosen_reach(addresses) if addresses else lan_reach()
    opened = open_lan(shop, reach, port, folder)
    click.echo("\n".join(lan_lines(opened)))
    serve(opened.main, [opened.trust])


def lan_lines(opened: OpenedLan) -> Iterator[str]:
    """Yield what is printed for the network: two codes for the camera, and the steps."""
    from tubside.web.lan.code_picture import terminal_code  # noqa: PLC0415

    yield "Once a phone: scan this, and follow the steps to trust this shop's certificate."
    yield terminal_code(opened.trust_address)
    yield f"    {opened.trust_address}"
    yield "    The certificate on the phone must show these pairs (SHA-256):"
    pairs = opened.fingerprint.split(":")
    yield from (f"    {':'.join(pairs[at : at + 16])}" for at in (0, 16))
    yield "Then, each time: scan this and log in."
    yield terminal_code(opened.address)
    yield f"    {opened.address}"
    yield from (f"    also {address}" for address in opened.others)
    yield "Serving the network and this machine  (Ctrl+C ends it)"


def _tls_folder(data: str | None) -> Path:
    from tubside.service.data_folder import default_folder  # noqa: PLC0415

    in_a_folder = data is not None and "://" not in data
    return (Path(data) if data is not None and in_a_folder else default_folder()) / "tls"
