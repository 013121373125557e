"""Who is let in: this machine's own browser on the page that the printed address opened, and nobody else.

What each request must carry follows the Fetch Metadata request headers (W3C), the Origin header (RFC 6454), cookies with
SameSite (RFC 6265bis) and 421 for a host that is not ours (RFC 9110, 15.5.20).
"""

from __future__ import annotations

from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

from planner.desk import server
from planner.desk.guard import MOST_SENT, new_token
from tests.desk.desks import HOST, ORIGIN, PORT, TOKEN, Asked

MILLRACE = "2026-06-09/10-millrace.yaml"


def _bare(asked: Asked, path: str = "/", **headers: str) -> Any:
    """A request without the cookie."""
    return asked.app.test_client().get(path, base_url=ORIGIN, headers=headers)


def test_the_printed_address_trades_its_token_for_a_cookie_and_leaves_the_address_clean(asked: Asked) -> None:
    found = _bare(asked, f"/?token={TOKEN}")
    assert found.status_code == 303
    assert found.headers["Location"] == "/"
    cookie = found.headers["Set-Cookie"]
    assert cookie.startswith(f"desk{PORT}={TOKEN};")
    assert "HttpOnly" in cookie
    assert "SameSite=Strict" in cookie


def test_the_address_a_browser_is_started_with_opens_the_page_once(
    asked: Asked, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    opened: list[str] = []
    monkeypatch.setattr("planner.desk.server.webbrowser.open", opened.append)
    monkeypatch.setattr("planner.desk.server.signal.signal", lambda *_: None)
    monkeypatch.setattr(server, "make_app", lambda *_: asked.app)
    monkeypatch.setattr(server, "make_server", lambda *_, **__: SimpleNamespace(
        serve_forever=lambda: None, server_close=lambda: None))  # fmt: skip
    server.serve(tmp_path, 0, opens=True)
    path = f"/{opened[0].rpartition('/')[2]}"
    assert opened[0] not in capsys.readouterr().out
    found = _bare(asked, path)
    assert found.headers["Set-Cookie"].startswith(f"desk{PORT}={TOKEN};")
    assert _bare(asked, path).status_code == 403
    assert asked.get(path).status_code == 303  # the browser that is in stays in


@pytest.mark.parametrize("path", ["/", "/static/desk.js", f"/?token={TOKEN[:-1]}", "/?token=", "/stamp"])
def test_without_the_cookie_or_with_a_wrong_token_nobody_gets_in(asked: Asked, path: str) -> None:
    assert _bare(asked, path).status_code == 403


@pytest.mark.parametrize(
    "host", ["evil.example", f"evil.example:{PORT}", "127.0.0.1", "127.0.0.1:1", f"[::1]:{PORT}", ""]
)
def test_another_host_is_misdirected(asked: Asked, host: str) -> None:
    assert asked.get("/stamp", Host=host).status_code == 421


@pytest.mark.parametrize("host", [HOST, f"localhost:{PORT}"])
def test_this_host_by_either_name_is_let_in(asked: Asked, host: str) -> None:
    asked.client.set_cookie(f"desk{PORT}", TOKEN, domain=host.partition(":")[0])
    assert asked.client.get("/stamp", base_url=f"http://{host}").status_code == 200


@pytest.mark.parametrize("site", ["cross-site", "same-site", "anything"])
def test_a_request_another_site_began_is_refused(asked: Asked, site: str) -> None:
    assert asked.get("/stamp", **{"Sec-Fetch-Site": site}).status_code == 403


@pytest.mark.parametrize(
    "headers",
    [
        {"Origin": "http://evil.example"},
        {"Origin": "null"},
        {"Origin": f"http://127.0.0.1:{PORT + 1}"},
        {"Origin": f"https://{HOST}"},
        {"X-Desk": "wrong"},
        {"X-Desk": ""},
        {"Sec-Fetch-Site": "cross-site"},
    ],
)
def test_a_change_comes_from_our_own_page_with_the_token_or_not_at_all(asked: Asked, headers: dict[str, str]) -> None:
    before = asked.text(MILLRACE)
    found = asked.post(f"/file/{asked.id(MILLRACE)}", {"v:building.height": "44 ft", "save": "yes"}, headers=headers)
    assert found.status_code == 403
    assert asked.text(MILLRACE) == before


def test_a_change_without_origin_is_refused(asked: Asked) -> None:
    data = {"v:building.height": "44 ft", "save": "yes", "desk": TOKEN}
    found = asked.client.post(f"/file/{asked.id(MILLRACE)}", base_url=ORIGIN, data=data)
    assert found.status_code == 403


@pytest.mark.parametrize(
    "path",
    [
        "/../../etc/passwd", "/static/../server.py", "/static/..%2f..%2fwriting.py", "/font/../../etc/passwd",
        "/job/..%2f..%2fetc%2fpasswd", "/job/2026-06-09/10-millrace.yaml", "/file/company.yaml", "/static/desk.js/",
    ],
)  # fmt: skip
def test_no_path_leads_to_a_file(asked: Asked, path: str) -> None:
    assert asked.get(path).status_code in (404, 405)


def test_a_link_out_of_the_workspace_is_no_file_of_it(asked: Asked) -> None:
    secret = asked.folder.parent / "secret.yaml"
    secret.write_text("job: secret\n", encoding="utf-8")
    link = asked.folder / "2026-06-09" / "40-linked.yaml"
    link.symlink_to(secret)
    assert asked.get(f"/job/{asked.id('2026-06-09/40-linked.yaml')}").status_code == 404
    assert asked.edit("2026-06-09/40-linked.yaml", text="job: mine\n", save="yes").status_code == 404
    assert secret.read_text(encoding="utf-8") == "job: secret\n"


@pytest.mark.ci
def test_too_much_is_refused(asked: Asked) -> None:
    assert asked.edit(MILLRACE, text="#" * (MOST_SENT + 1)).status_code == 413


@pytest.mark.parametrize("method", ["put", "delete", "patch", "options"])
def test_no_other_verb_is_known(asked: Asked, method: str) -> None:
    assert getattr(asked.client, method)("/stamp", base_url=ORIGIN).status_code == 405


@pytest.mark.ci
def test_every_answer_bars_what_is_not_ours(asked: Asked) -> None:
    for path in ("/stamp", f"/job/{asked.id(MILLRACE)}", "/static/desk.css", "/nothing"):
        found = asked.get(path).headers
        policy = dict(part.strip().split(" ", 1) for part in found["Content-Security-Policy"].split(";"))
        assert policy["default-src"] == "'none'"
        assert policy["script-src"] == policy["style-src"] == policy["connect-src"] == policy["form-action"] == "'self'"
        assert policy["base-uri"] == "'none'"
        assert found["X-Content-Type-Options"] == "nosniff"
        assert found["Referrer-Policy"] == "same-origin"
        assert found["Cache-Control"] == "no-store"
        assert found["Cross-Origin-Resource-Policy"] == "same-origin"


@pytest.mark.ci
def test_no_page_has_script_or_style_of_its_own(asked: Asked) -> None:
    for path in ("/", f"/job/{asked.id(MILLRACE)}", f"/day/{asked.id('2026-06-09')}"):
        text = asked.client.get(path, base_url=ORIGIN, follow_redirects=True).get_data(as_text=True)
        assert "style=" not in text
        assert "<style" not in text
        assert text.count("<script") == 1
        assert " on" + "click" not in text


def test_a_token_is_24_random_bytes() -> None:
    assert len({new_token() for _ in range(50)}) == 50
    assert min(len(new_token()) for _ in range(50)) == 32
