"""Who may ask the page's server for anything: this machine's own browser, on the page the printed address opened.

The printed address carries a token of 192 bits. The first request trades it for a cookie and leaves the address bar
clean. A browser is started with an address of its own that opens the page once: other users of this machine can read
what a program was started with. Every request names this very host; everything that changes something also comes from
our own page and brings the token along, which no other site can read.
"""

from __future__ import annotations

import hmac
import secrets
from typing import Final

from flask import Flask, Response, abort, redirect, request
from werkzeug.wrappers import Response as AnyResponse

MOST_SENT: Final = 1 << 20
"""Bytes a request may hold: as much as a file (our choice)."""

_POLICY: Final = "; ".join(
    (
        "default-src 'none'",
        *(
            f"{what} 'self'"
            for what in ("script-src", "style-src", "img-src", "font-src", "connect-src", "form-action")
        ),
        "frame-src 'self'",
        "base-uri 'none'",
        "frame-ancestors 'self'",
    )
)
_HEADERS: Final = {
    "Content-Security-Policy": _POLICY,
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "same-origin",  # with `no-referrer` a form of our own page would say no origin
    "Cache-Control": "no-store",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
}


def new_token() -> str:
    """A secret of 192 bits as text of a URL."""
    return secrets.token_urlsafe(24)


def guard(app: Flask, token: str, port: int) -> None:
    """Let nobody in but the page that the printed address opened."""
    hosts = {f"127.0.0.1:{port}", f"localhost:{port}"}
    cookie = f"desk{port}"  # browsers share cookies between ports
    app.config["MAX_CONTENT_LENGTH"] = MOST_SENT
    app.config["MAX_FORM_MEMORY_SIZE"] = MOST_SENT
    app.config["ONCE"] = once = dict[str, None]()  # tokens of addresses that open the page a single time
    app.config["LARGE"] = {}  # bytes that a route of its own may be sent, by its name

    def holds(given: str | None) -> bool:
        return given is not None and hmac.compare_digest(given.encode("utf-8", "replace"), token.encode())

    @app.before_request
    def _let_in() -> AnyResponse | None:
        if request.headers.get("Host", "") not in hosts:
            abort(421)
        if request.headers.get("Sec-Fetch-Site", "none") not in ("same-origin", "none"):
            abort(403)
        if request.method not in ("GET", "HEAD", "POST"):
            abort(405)
        if request.method == "GET" and "token" in request.args:
            given = request.args["token"]
            opens = once.pop(given, False) is None  # of two at one instant it lets in one
            if not (opens or holds(given) or holds(request.cookies.get(cookie))):
                abort(403)
            found = redirect(request.path, 303)
            found.set_cookie(cookie, token, httponly=True, samesite="Strict", path="/")
            return found
        if not holds(request.cookies.get(cookie)):
            abort(403)
        if request.endpoint in app.config["LARGE"]:
            request.max_content_length = app.config["LARGE"][request.endpoint]
        if request.method == "POST":
            origin = request.headers.get("Origin")
            if origin is None or origin not in {f"http://{host}" for host in hosts}:
                abort(403)
            if not holds(request.headers.get("X-Desk") or request.form.get("desk")):
                abort(403)
        return None

    @app.after_request
    def _closed(found: Response) -> Response:
        for name, value in _HEADERS.items():
            found.headers.setdefault(name, value)
        return found
