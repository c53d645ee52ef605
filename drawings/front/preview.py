"""A page on this machine that redraws the sheets whenever the model is saved. It listens to this machine alone."""

from __future__ import annotations

import json
from collections.abc import Callable
from html import escape
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from threading import Lock

from pegbook.geometry.errors import PegbookError
from pegbook.work import worked

PAGE = """<!DOCTYPE html><html lang="en"><head><meta charset="utf-8"><title>%(name)s</title>
<style>body{margin:0;font:16px/1.4 system-ui,sans-serif;background:#e9e9e9}#say{white-space:pre-wrap;padding:8px 14px;
background:#fff;border-bottom:2px solid #000;position:sticky;top:0}#say.bad{background:#000;color:#fff}
#sheets svg{display:block;width:min(1600px,96vw);height:auto;margin:16px auto;background:#fff}
</style></head><body><div id="say" role="status">Reading the model</div><div id="sheets"></div><script>
let seen="";
async function look(){try{const answer=await (await fetch("/state?"+encodeURIComponent(seen))).json();
if(answer.mark!==seen){seen=answer.mark;const say=document.getElementById("say");say.textContent=answer.say;
say.className=answer.good?"":"bad";if(answer.sheets.length)document.getElementById("sheets").innerHTML=answer.sheets.join("")}}
catch(gone){document.getElementById("say").textContent="The preview has stopped."}setTimeout(look,700)}
look();</script></body></html>"""


class State:
    """The sheets as they were drawn from the model's last good text."""

    def __init__(self, file: Path) -> None:
        self.file = file
        self.lock = Lock()
        self.mark = ""
        self.answer: dict[str, object] = {"mark": "", "say": "", "good": True, "sheets": []}

    def _stamp(self) -> str:
        try:
            held = self.file.stat()
        except OSError:
            return "missing"
        return f"{held.st_mtime_ns} {held.st_size}"

    def current(self) -> dict[str, object]:
        """Return the drawing of the file as it is now, drawn again only if it was saved since."""
        with self.lock:
            stamp = self._stamp()
            if stamp != self.mark:
                self.mark = stamp
                self.answer = self._drawn(stamp)
            return self.answer

    def _drawn(self, stamp: str) -> dict[str, object]:
        from pegbook.drawings.compose import compose
        from pegbook.drawings.svg import svg_text

        try:
            work = worked(self.file)
            sheets = [svg_text(sheet) for sheet in compose(work, style=work.garden.sheets.style).sheets]
        except PegbookError as error:
            return {"mark": stamp, "say": str(error), "good": False, "sheets": []}
        say = "\n".join([f"{self.file.name}: good, {len(work.pegs.pegs)} pegs", *(str(p) for p in work.advice)])
        return {"mark": stamp, "say": say, "good": True, "sheets": sheets}


def handler(state: State) -> type[BaseHTTPRequestHandler]:
    """Return the request handler for one state; it answers two addresses and no other."""

    class Handler(BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            """Answer the page or its state."""
            path = self.path.split("?")[0]
            if path == "/":
                self._send("text/html", PAGE % {"name": escape(state.file.name)})
            elif path == "/state":
                self._send("application/json", json.dumps(state.current(), ensure_ascii=False))
            else:
                self.send_error(404)

        def _send(self, kind: str, text: str) -> None:
            data = text.encode("utf-8")
            self.send_response(200)
            self.send_header("Content-Type", f"{kind}; charset=utf-8")
            self.send_header("Content-Length", str(len(data)))
            self.send_header("Cache-Control", "no-store")
            self.end_headers()
            self.wfile.write(data)

        def log_message(self, *_: object) -> None:
            """Say nothing: the page itself shows what happens."""

    return Handler


def serve(file: Path, port: int, say: Callable[[str], None]) -> None:
    """Serve the preview of `file` on this machine until it is stopped."""
    from pegbook.geometry.errors import DrawingError, ModelError, refuse

    if not file.is_file():
        raise refuse(ModelError, f"{file}: there is no such file", "name the model to preview", "no-file")
    try:
        server = ThreadingHTTPServer(("127.0.0.1", port), handler(State(file)))
    except OSError as error:
        raise refuse(DrawingError, f"port {port} cannot be used: {error.strerror}",
                     "leave --port out to take a free one", "port-taken") from error
    say(f"Preview of {file}: http://127.0.0.1:{server.server_address[1]}/  (Ctrl-C stops it)")
    try:
        server.serve_forever()
    except KeyboardInterrupt:
        say("Preview stopped.")
    finally:
        server.server_close()
