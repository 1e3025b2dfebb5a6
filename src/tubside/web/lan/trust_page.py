"""The one thing told over plain http: this shop's certificate, and how a phone comes to trust it.

It has a port of its own, knows nothing of any job, and holds two pages.
"""

from __future__ import annotations

from html import escape

from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response
from starlette.routing import Route

from tubside.web.lan.authority import Authority
from tubside.web.security.headers import SafeHeaders
from tubside.web.security.hosts import KnownHosts
from tubside.web.security.limits import BodyLimits, Limited

CERTIFICATE_PATH = "/tubside-ca.crt"
STEPS: tuple[tuple[str, tuple[str, ...]], ...] = (
    (
        "iPhone or iPad",
        (
            "Open this page in Safari, tap the button above, and allow the download.",
            "Settings, General, VPN &amp; Device Management: tap the profile, then Install.",
            "Settings, General, About, Certificate Trust Settings: switch it on.",
        ),
    ),
    (
        "Android",
        (
            "Tap the button above and keep the file.",
            "Settings: search for &ldquo;CA certificate&rdquo; (Security, Install a certificate).",
            "Tap Install anyway, and choose the file from the downloads.",
        ),
    ),
    (
        "A computer",
        (
            "Keep the file.",
            "In the browser&rsquo;s settings, search for &ldquo;certificates&rdquo;.",
            "Import it under Authorities, to identify web sites.",
        ),
    ),
)
"""Menus from memory; they move a little with each version."""


def trust_app(authority: Authority, app_address: str, hosts: tuple[str, ...]) -> KnownHosts:
    """Return the app of the plain-http port: the steps at ``/``, the certificate beside them."""
    page = steps_page(authority.fingerprint(), app_address)
    pem = authority.pem()

    async def steps(_request: Request) -> Response:
        return HTMLResponse(page)

    async def certificate(_request: Request) -> Response:
        return Response(
            pem,
            media_type="application/x-x509-ca-cert",
            headers={"content-disposition": 'attachment; filename="tubside-ca.crt"'},
        )

    app = Starlette(routes=[Route("/", steps), Route(CERTIFICATE_PATH, certificate)])
    return KnownHosts(SafeHeaders(Limited(app, BodyLimits(form=0))), hosts)


def steps_page(fingerprint: str, app_address: str) -> str:
    """Return the page of steps, which needs no style and no script."""
    kinds = "".join(
        f"<h2>{kind}</h2><ol>{''.join(f'<li>{step}</li>' for step in steps)}</ol>"
        for kind, steps in STEPS
    )
    address = escape(app_address, quote=True)
    return f"""<!doctype html>
<html lang="en"><head><meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>Trust this shop</title></head><body>
<h1>Trust this shop</h1>
<p>Once a phone. Only do this on the shop&rsquo;s own network, for a phone of the shop.</p>
<p><a href="{CERTIFICATE_PATH}"><strong>Download the certificate</strong></a></p>
<p>It vouches for the private addresses and the .local and .lan names of a network and for no
other site, as far as the phone keeps to what the certificate says. Before you install it,
compare these pairs with those printed where Tubside was started:</p>
<p><code>{escape(fingerprint)}</code></p>
{kinds}
<h2>Then</h2>
<p>Open <a href="{address}">{address}</a>. The browser must not warn. If it does, stop and ask
at the shop.</p>
<p>To take the trust back, remove the certificate in the same place of the settings.</p>
</body></html>
"""
