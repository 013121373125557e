"""The page's server on this machine alone: Flask's own threads, one lock round planning, thin views.

A form of any place posts here as it would without a script and gets its page back; the script asks for the same as
fragments, each by the id of what it takes the place of.
"""

from __future__ import annotations

import re
import signal
import socket
import webbrowser
from contextlib import suppress
from importlib.resources import files as package_files
from pathlib import Path
from typing import Any, Final

from flask import Flask, Response, abort, g, jsonify, redirect, request, url_for
from jinja2 import StrictUndefined
from werkzeug.exceptions import HTTPException
from werkzeug.serving import WSGIRequestHandler, make_server
from werkzeug.wrappers import Response as AnyResponse

from planner.desk import day_place, job_place
from planner.desk.done import place as done_place
from planner.desk.edits import added, changed, drop, moved
from planner.desk.files import FileChanged, Sheet, typed_over
from planner.desk.frame import page_of
from planner.desk.gear import rig_place, shelf_place
from planner.desk.guard import guard, new_token
from planner.desk.places import company, new, order, out, pages
from planner.desk.state import Desk
from planner.exits import apologise
from planner.inputs.reading.files import shown
from planner.inputs.reading.spans import NotAsMeant
from planner.writing import write_whole

_STATIC: Final = {"desk.css": "text/css", "desk.js": "text/javascript", "mark.svg": "image/svg+xml"}
_FONTS: Final = {name: f"SourceSansPro-{name}.ttf" for name in ("Regular", "Semibold", "Bold")}
_GONE: Final = "There is no such file any more. What you typed is on this page alone: copy it before you leave."
_FIELD: Final = re.compile(r"([vr]):(.+)", re.DOTALL)


def make_app(folder: Path, token: str, port: int) -> Flask:
    """The whole server of one workspace, listening to nobody yet."""
    app = Flask("planner.desk", template_folder="html", static_folder=None)
    app.jinja_env.undefined = StrictUndefined
    app.jinja_env.finalize = _written
    app.jinja_env.trim_blocks = app.jinja_env.lstrip_blocks = True
    desk = Desk(folder)
    app.config["desk"] = desk
    guard(app, token, port)
    _views(app)
    app.jinja_env.globals.update(desk_token=token, stamp=lambda: g.get("stamp", ""))
    _static(app)
    _files(app, desk)
    for place in (day_place, job_place, rig_place, shelf_place, done_place, company, pages, new, order, out):
        place.add(app, desk)

    @app.before_request
    def _stamped() -> None:
        if request.method == "GET" and request.endpoint not in ("static", "font", "favicon", "stamp"):
            with desk.lock:
                g.stamp = desk.files.stamp()

    @app.get("/")
    def _home() -> AnyResponse:
        with desk.lock:
            day = desk.first_day()
            return redirect(url_for("day", id_=desk.files.id_of(day)) if day is not None else url_for("none"))

    @app.errorhandler(Exception)
    def _wrong(error: Exception) -> tuple[str, int] | AnyResponse | HTTPException:
        if isinstance(error, HTTPException):
            return error
        apologise()
        return "Sorry, that is our mistake. Reload the page: it shows what is saved.", 500

    return app


def _written(value: Any) -> Any:
    """What a template writes: a file's name may hold bytes that are no text, and no page can be sent with them."""
    if not isinstance(value, str) or value.isascii():
        return value
    return type(value)(value.encode("utf-8", "replace").decode("utf-8"))


def _views(app: Flask) -> None:
    """Whether form, text or both are shown is remembered from file to file."""

    def asked() -> str:
        found = request.args.get("view") or request.cookies.get("view", "")
        return found if found in ("form", "both", "text") else ""

    @app.context_processor
    def _view() -> dict[str, str]:
        return {"view": asked()}

    @app.after_request
    def _keep(answer: Response) -> Response:
        if request.args.get("view") and asked():
            answer.set_cookie("view", asked(), samesite="Strict")
        return answer


def _static(app: Flask) -> None:
    folder = package_files("planner.desk") / "static"
    fonts = package_files("font_source_sans_pro") / "files"

    @app.get("/static/<name>")
    def static(name: str) -> Response:
        if name not in _STATIC:
            abort(404)
        return Response((folder / name).read_bytes(), mimetype=_STATIC[name])

    @app.get("/font/<name>")
    def font(name: str) -> Response:
        if name not in _FONTS:
            abort(404)
        return Response((fonts / _FONTS[name]).read_bytes(), mimetype="font/ttf")

    @app.get("/favicon.ico")
    def favicon() -> Response:
        return Response((folder / "mark.svg").read_bytes(), mimetype="image/svg+xml")


# ------------------------------------------------------------ files
# Changes of one file, from whichever place shows it.


def _files(app: Flask, desk: Desk) -> None:
    @app.post("/file/<id_>")
    def file(id_: str) -> AnyResponse:
        """Change a file as a form says, save it where asked, and answer with what the place shows then."""
        with desk.lock:
            sheet = desk.files.sheet(id_)
            if sheet is None:
                if request.headers.get("X-Desk") is None:
                    abort(404, _GONE)
                return Response(jsonify(trouble=_GONE).get_data(), status=404, mimetype="application/json")
            known = request.form.get("version")
            trouble, status = "", 200
            stale = known is not None and known != str(sheet.version)
            if stale and "text" in request.form and not request.form.get("do"):
                sheet.clash(typed_over(sheet.text, request.form["text"]))
                trouble, status = "This text was begun from an older one. Choose which text to keep.", 409
            elif stale:
                g.stale = True
                trouble, status = "The page showed an older text of this file. Nothing was changed; look again.", 409
            else:
                trouble = _change(sheet)
                if not trouble and request.form.get("save"):
                    trouble, status = _save(desk, sheet)
            return _answered(desk, sheet, trouble, status)

    @app.get("/stamp")
    def stamp() -> AnyResponse:
        """Whether all files are as they were when the page that asks was shown."""
        with desk.lock:
            return jsonify(same=desk.files.stamp() == request.args.get("of"))


def _change(sheet: Sheet) -> str:
    """What the form asks of the text; nothing, or why it was not done."""
    form = request.form
    do, before = form.get("do", ""), sheet.version
    try:
        if do == "undo":
            sheet.back()
        elif do == "redo":
            sheet.forth()
        elif do in ("mine", "theirs") and form.get("seen") != sheet.seen:
            return "The other text changed once more. Look at both again, and choose."
        elif do == "mine":
            sheet.keep_mine()
        elif do == "theirs":
            sheet.take_theirs()
        elif do == "revert":
            sheet.change(sheet.base or b"", "back to what is saved")
        elif "text" in form:
            sheet.change(typed_over(sheet.text, form["text"]), "text", typing="text")
            if any(_given(form)):
                _fields(sheet, do)
        else:
            _fields(sheet, do)
    except NotAsMeant as error:
        kept = sheet.refused.get(sheet.refused_at, "")
        typed = f" What you typed stays in its box: {kept}." if kept else ""
        done = "Nothing was changed." if sheet.version == before else "The other boxes were taken."
        return f"{error.reason[:1].upper()}{error.reason[1:]}. {done}{typed}"
    except OSError as error:
        return f"The file cannot be read: {error.strerror or error}. The text is kept here."
    return ""


def _fields(sheet: Sheet, do: str) -> None:
    """Values of a form, and one button's own change. Raises NotAsMeant."""
    form = request.form
    what, _, path = do.partition(" ")
    # What is typed in other boxes goes first: without a script a button sends them all.
    given = [(at, _minutes(sheet, at, value), raw) for at, (value, raw) in _given(form) if "[+]" not in at]
    if given:
        typed = given[0][0] if len(given) == 1 else ""
        sheet.change(changed(sheet, given), f"{typed} {given[0][1]}" if typed else "form", typing=typed)
    text = sheet.text
    if what == "apply":
        from planner.inputs.reading.spans import edited

        text = edited(text, [(str(at), one if one is None else str(one)) for at, one in _edits(form.get("edits", ""))])
        sheet.change(text, form.get("name", "remedy"))
        return
    if what == "put":
        sheet.change(changed(sheet, [(path, form.get("value", ""), False)]), f"{path}: {form.get('value', '')}")
        return
    if what == "drop":
        sheet.change(drop(text, sheet, path), f"{path} taken out")
        return
    if what == "add":
        blank = {key: value for key, value in _given(form) if key.startswith(f"{path}[+].")}
        if blank or f"n:{path}" not in form:
            values = {key.removeprefix(f"{path}[+]."): value for key, value in blank.items()}
            sheet.change(added(text, sheet, path, values), f"{path} added")
        elif form[f"n:{path}"]:
            sheet.change(added(text, sheet, path, form[f"n:{path}"]), f"{form[f'n:{path}']} added")
        return
    if what in ("up", "down"):
        sheet.change(moved(text, sheet, path, -1 if what == "up" else 1), f"{path} moved")


def _minutes(sheet: Sheet, path: str, value: str) -> str:
    """A bare number in a drive's box is minutes."""
    drive = sheet.kind == "day" and path.startswith("drive.") and re.fullmatch(r" *[0-9]{1,3} *", value)
    return f"{value.strip()} min" if drive else value


def _edits(text: str) -> list[Any]:
    import json

    try:
        found = json.loads(text)
    except (ValueError, RecursionError):
        raise NotAsMeant("this remedy cannot be read") from None
    if not isinstance(found, list) or not all(isinstance(one, list) and len(one) == 2 for one in found):
        raise NotAsMeant("this remedy cannot be read")
    return found


def _given(form: Any) -> list[tuple[str, tuple[str, bool]]]:
    found = []
    for name, value in form.items(multi=True):
        match = _FIELD.fullmatch(name)
        if match is not None:
            found.append((match[2], (value, match[1] == "r")))
    return found


def _save(desk: Desk, sheet: Sheet) -> tuple[str, int]:
    """Write the file; what kept it from being written, and the answer's status."""
    try:
        why = sheet.save(desk.files.folder)
    except FileChanged:
        with suppress(OSError):
            sheet.look()
        return "Another program changed this file, and it stays so until you choose which text to keep.", 409
    except OSError as error:
        return f"The file could not be written: {error.strerror or error}. The text is kept here.", 200
    if why:
        return f"Not saved: {why}.", 200
    return "", 200


def _answered(desk: Desk, sheet: Sheet, trouble: str, status: int) -> AnyResponse:
    """The place's fragments for a script; for a plain form the page it came from."""
    place, _, at = request.form.get("place", "").partition(":")
    g.refused = bool(sheet.refused)
    if request.headers.get("X-Desk") is None:
        sheet.note = trouble or sheet.note
        return redirect(_page_of(desk, sheet, place, at), 303)
    now = desk.files.stamp()
    found = PLACES.get(place, job_place).fragments(desk, sheet, at, trouble)
    found |= {"stamp": now, "refused": bool(sheet.refused)}
    return Response(jsonify(found).get_data(), status=status, mimetype="application/json")


def _page_of(desk: Desk, sheet: Sheet, place: str, at: str) -> str:
    if place in ("rig", "shelf", "done"):
        return url_for(place, id_=at) if at else url_for(place)
    return page_of(desk, sheet)


PLACES: Final[dict[str, Any]] = {
    "job": job_place, "day": day_place, "rig": rig_place, "shelf": shelf_place, "company": company,
}  # fmt: skip


# ------------------------------------------------------------ serve


class _Quiet(WSGIRequestHandler):
    """Prints no line a request: the token would be among them."""

    def log_request(self, *args: Any) -> None:
        """Nothing."""


def serve(folder: Path, port: int, *, opens: bool) -> int:
    """Serve a workspace until somebody stops it. Raises OSError where the port is taken."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", port))
        port = probe.getsockname()[1]
    token = new_token()
    app = make_app(folder, token, port)
    server = make_server("127.0.0.1", port, app, threaded=True, request_handler=_Quiet)
    address = f"http://127.0.0.1:{port}/?token="
    print(f"The desk is open at\n\n  {address}{token}\n\nIt is on this machine only. Ctrl+C closes it.", flush=True)
    if opens:
        once = new_token()
        app.config["ONCE"][once] = None
        webbrowser.open(f"{address}{once}")
    for name in ("SIGTERM", "SIGHUP"):  # closing the terminal ends it as Ctrl+C does: with every text kept
        if hasattr(signal, name):
            signal.signal(getattr(signal, name), signal.default_int_handler)
    try:
        server.serve_forever()
    except KeyboardInterrupt:
        pass
    finally:
        server.server_close()
    # All of them first, and only then a word: the terminal may be gone.
    told = [_put_aside(sheet, folder) for sheet in app.config["desk"].files.waiting()]
    for line in told:
        print(line)
    return 0


def _put_aside(sheet: Sheet, folder: Path) -> str:
    """Keep a text that was not saved beside its file, never over an earlier one; what to tell of it."""
    number = 1
    while (aside := sheet.path.with_name(f"{sheet.path.name}.unsaved{'' if number == 1 else number}")).exists():
        number += 1
    try:
        write_whole(aside, sheet.text, folder)
    except OSError as error:
        return f"caution: changes to {sheet.name} were not saved and are lost: {error.strerror or error}"
    return f"caution: changes to {sheet.name} were not saved; they are in {shown(aside)}"
