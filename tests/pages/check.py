#!/usr/bin/env python3
"""Pages of the real program in a real browser.

check.py PROGRAM FOLDER [CHROMIUM]

Makes logbooks (made_up.py), has the program write its pages, and opens each in Chromium by day and by night, wide and narrow: it must
render without a word on the console and without asking the network for anything, be readable (the contrast of what is computed, by the
formula of WCAG 2.2), fit its window, name its pictures, tables, controls and landmarks, be reached by keyboard, and print to as many pages
as it may. Needs the packages websocket-client and pypdf; the program's pages need nothing."""

import base64
import io
import itertools
import json
import os
import pathlib
import shutil
import subprocess
import sys
import tempfile
import time
import unicodedata
import urllib.request

import pypdf
import websocket

HERE = pathlib.Path(__file__).resolve().parent
DRILLS = HERE.parent.parent / "drills"
# A routine with everything that a file can say.
EVERYTHING = HERE.parent / "fixtures" / "everything.yaml"

# What is looked at inside the page; it gives back a list of complaints.
LOOK = r"""
(() => {
  const found = [];
  const say = (what, node) => found.push(what + ': ' + (node.outerHTML || '').slice(0, 160));
  const part = c => { c /= 255; return c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4; };
  const light = ([r, g, b]) => 0.2126 * part(r) + 0.7152 * part(g) + 0.0722 * part(b);
  const numbers = colour => (colour.match(/[\d.]+/g) || []).map(Number);
  const ground = node => {
    for (; node; node = node.parentElement) {
      const c = numbers(getComputedStyle(node).backgroundColor);
      if (c.length === 3 || c[3] === 1) return c;
      if (c[3] > 0) return null;
    }
    return [255, 255, 255];
  };
  let letters = 0;
  const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  while (walker.nextNode()) {
    const node = walker.currentNode.parentElement;
    if (!walker.currentNode.data.trim() || node.closest('title, desc')) continue;
    const style = getComputedStyle(node);
    const inSvg = node instanceof SVGElement;
    const ink = numbers(inSvg ? style.fill : style.color);
    const paper = ground(node);
    if (!paper || style.opacity !== '1' || (ink[3] !== undefined && ink[3] !== 1)) { say('half seen through', node); continue; }
    const [a, b] = [light(ink), light(paper)].sort((x, y) => y - x);
    const contrast = (a + 0.05) / (b + 0.05);
    if (contrast < 4.5) say('contrast ' + contrast.toFixed(2), node);
    if (parseFloat(style.fontSize) < 11) say('small letters', node);
    letters += walker.currentNode.data.trim().length;
  }
  if (letters < 200) found.push('hardly any words: ' + letters);
  const page = document.scrollingElement;
  if (page.scrollWidth > innerWidth) {
    found.push('wider than its window: ' + page.scrollWidth + ' over ' + innerWidth);
    for (const node of document.querySelectorAll('main *'))
      if (node.getBoundingClientRect().right > innerWidth + 1 && !node.closest('.scroll')) { say('sticks out', node); break; }
  }
  for (const node of document.querySelectorAll('.scroll'))
    if (node.tabIndex !== 0 || node.getAttribute('role') !== 'region' || !node.getAttribute('aria-label')) say('no named region', node);
  for (const svg of document.querySelectorAll('svg')) {
    if (svg.getAttribute('aria-hidden') === 'true') continue;
    const named = (svg.getAttribute('aria-labelledby') || '').split(' ').every(id => id && document.getElementById(id)?.textContent.trim());
    const told = document.getElementById(svg.getAttribute('aria-describedby') || '-')?.textContent.trim();
    if (svg.getAttribute('role') !== 'img' || !named || !told) say('picture without name or description', svg);
    const box = svg.getBoundingClientRect();
    if (box.width < 20 || box.height < 10) say('picture without size', svg);
    for (const text of svg.querySelectorAll('text')) {
      const at = text.getBoundingClientRect();
      if (at.left < box.left - 1 || at.right > box.right + 1 || at.top < box.top - 1 || at.bottom > box.bottom + 1) say('letters off their picture', text);
    }
  }
  for (const table of document.querySelectorAll('table')) {
    if (!table.tHead || !table.tHead.rows.length) say('table without head', table);
    for (const th of table.querySelectorAll('th'))
      if (!th.scope || !th.textContent.trim()) say('head without scope or words', th);
    if (!table.closest('[aria-label], [aria-labelledby]') && !table.caption) say('table without name', table);
  }
  for (const control of document.querySelectorAll('input, select, textarea, button, summary'))
    if (!(control.textContent.trim() || control.labels?.length || control.getAttribute('aria-label'))) say('control without name', control);
  const mains = document.querySelectorAll('main');
  if (mains.length !== 1) found.push('landmarks: ' + mains.length + ' main');
  for (const node of document.querySelectorAll('section, article'))
    if (!document.getElementById(node.getAttribute('aria-labelledby') || '-')?.textContent.trim()) say('part without name', node);
  if (!document.documentElement.lang || !document.title) found.push('no language or no title');
  let level = 0;
  for (const h of document.querySelectorAll('h1, h2, h3, h4')) {
    const here = Number(h.tagName[1]);
    if (here > level + 1) say('a level left out', h);
    level = here;
  }
  if (document.querySelectorAll('h1').length !== 1) found.push('not one h1');
  return found;
})()
"""

# Opens every part that can be opened, by the keyboard alone.
OPEN_ALL = "document.querySelectorAll('details').forEach(one => { one.open = true; })"


class Browser:
    """Chromium without a window, spoken to by its own protocol."""

    def __init__(self, program, folder):
        self.process = subprocess.Popen(
            [
                program,
                "--headless=new",
                "--no-sandbox",
                "--disable-gpu",
                "--disable-dev-shm-usage",
                "--no-first-run",
                "--disable-background-networking",
                "--hide-scrollbars",
                "--remote-debugging-port=0",
                "--remote-allow-origins=*",
                f"--user-data-dir={folder}",
                "about:blank",
            ],
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
        port = pathlib.Path(folder) / "DevToolsActivePort"
        for _ in range(600):
            if port.exists() and port.read_text().strip():
                break
            if self.process.poll() is not None:
                raise SystemExit("the browser did not start")
            time.sleep(0.1)
        number = port.read_text().split()[0]
        with urllib.request.urlopen(f"http://127.0.0.1:{number}/json/list") as answer:
            pages = [one for one in json.load(answer) if one["type"] == "page"]
        self.socket = websocket.create_connection(pages[0]["webSocketDebuggerUrl"], timeout=60)
        self.ids = itertools.count(1)
        self.events = []
        for domain in ("Page", "Runtime", "Log", "Network"):
            self.call(f"{domain}.enable")

    def receive(self):
        return json.loads(self.socket.recv())

    def call(self, method, **params):
        number = next(self.ids)
        self.socket.send(json.dumps({"id": number, "method": method, "params": params}))
        while True:
            told = self.receive()
            if told.get("id") == number:
                if "error" in told:
                    raise SystemExit(f"{method}: {told['error']}")
                return told["result"]
            self.events.append(told)

    def open(self, address, width, height, scheme):
        self.call("Emulation.setDeviceMetricsOverride", width=width, height=height, deviceScaleFactor=1, mobile=False)
        self.call("Emulation.setEmulatedMedia", features=[{"name": "prefers-color-scheme", "value": scheme}])
        self.events.clear()
        self.call("Page.navigate", url=address)
        while not any(event.get("method") == "Page.loadEventFired" for event in self.events):
            self.events.append(self.receive())

    def value(self, expression):
        told = self.call("Runtime.evaluate", expression=expression, returnByValue=True)
        if "exceptionDetails" in told:
            raise SystemExit(f"in the page: {told['exceptionDetails']}")
        return told["result"].get("value")

    def complaints(self, address):
        """What the console said, and what was asked of the network."""
        found = []
        for event in self.events:
            method, params = event.get("method"), event.get("params", {})
            if method in ("Log.entryAdded", "Runtime.consoleAPICalled", "Runtime.exceptionThrown"):
                found.append(f"console: {json.dumps(params)[:300]}")
            if method == "Network.requestWillBeSent" and params["request"]["url"] != address:
                found.append(f"network: {params['request']['url'][:200]}")
        return found

    def press(self, key):
        code = {"Tab": 9, "Enter": 13}[key]
        text = {"Enter": "\r"}.get(key, "")
        self.call("Input.dispatchKeyEvent", type="keyDown", key=key, code=key, windowsVirtualKeyCode=code, text=text)
        self.call("Input.dispatchKeyEvent", type="keyUp", key=key, code=key, windowsVirtualKeyCode=code)

    def shot(self, path):
        size = self.call("Page.getLayoutMetrics")["cssContentSize"]
        clip = {"x": 0, "y": 0, "width": size["width"], "height": min(size["height"], 4000), "scale": 1}
        told = self.call("Page.captureScreenshot", clip=clip, captureBeyondViewport=True)
        path.write_bytes(base64.b64decode(told["data"]))

    def printed(self):
        # As from the menu: no backgrounds, the page's own size and margins.
        told = self.call("Page.printToPDF", preferCSSPageSize=True, printBackground=False)
        return base64.b64decode(told["data"])

    def close(self):
        self.socket.close()
        self.process.terminate()
        self.process.wait(timeout=30)


def by_keyboard(browser):
    """Every part that opens is reached by Tab and opened by Enter, and shows where the keyboard is."""
    wanted = browser.value("document.querySelectorAll('summary').length")
    opened = 0
    for _ in range(200):
        if opened == wanted:
            return []
        browser.press("Tab")
        if browser.value("document.activeElement?.tagName") == "SUMMARY":
            if browser.value("getComputedStyle(document.activeElement).outlineStyle") == "none":
                return ["the keyboard's place is not shown"]
            browser.press("Enter")
            opened += browser.value("document.activeElement.parentElement.open ? 1 : 0")
    return [f"{opened} of {wanted} parts opened by keyboard"]


def bare(text):
    """Without spaces, which print sets otherwise, and with letters that were joined taken apart."""
    return "".join(unicodedata.normalize("NFKC", text).split())


def look(browser, page, words, most, shots):
    """All complaints about one page; `words` must be on it, in print too."""
    address = page.as_uri()
    found = []
    for width, scheme in itertools.product((1280, 360), ("light", "dark")):
        browser.open(address, width, 900, scheme)
        where = f"{page.name}, {width} wide, {scheme}"
        if browser.value("getComputedStyle(document.body).backgroundColor") in ("rgba(0, 0, 0, 0)", ""):
            found.append(f"{where}: no ground")
        if width == 1280 and scheme == "light":
            found += [f"{where}: {one}" for one in by_keyboard(browser)]
        browser.value(OPEN_ALL)
        found += [f"{where}: {one}" for one in browser.value(LOOK)]
        found += [f"{where}: {one}" for one in browser.complaints(address)]
        browser.shot(shots / f"{page.stem}-{width}-{scheme}.png")
    grounds = set()
    for scheme in ("light", "dark"):
        browser.open(address, 1280, 900, scheme)
        grounds.add(browser.value("getComputedStyle(document.body).backgroundColor"))
        pdf = browser.printed()
        (shots / f"{page.stem}-{scheme}.pdf").write_bytes(pdf)
        read = pypdf.PdfReader(io.BytesIO(pdf))
        if len(read.pages) > most:
            found.append(f"{page.name} prints to {len(read.pages)} pages, and may to {most}")
        text = bare("".join(one.extract_text() for one in read.pages))
        for one in words:
            if bare(one) not in text:
                found.append(f"{page.name}: “{one}” is not in print")
    if len(grounds) != 2:
        found.append(f"{page.name}: the same by day and by night: {grounds}")
    print(f"{page.name}: looked at, {'sound' if not found else 'NOT sound'}")
    return found


# A page with a fault of each kind, and what must be said of it.
PLANTED = """<!DOCTYPE html><html><head><meta name="viewport" content="width=device-width"><style>
:root{color-scheme:light dark} body{background:#fff}@media (prefers-color-scheme:dark){body{background:#eee}}
</style></head><body><h1>A page</h1><h3>A level down</h3>
<p style="color:#999">These words are too pale to be read by everybody, and there are enough of them to count as words.</p>
<p style="font-size:9px">And these are too small, although they too are words, and as such they deserve to be read by somebody.</p>
<div style="width:3000px">wide</div><svg viewBox="0 0 90 90" width="90" height="90"><text x="80" y="20">off</text></svg>
<table><tr><th>a</th></tr></table><section>nameless</section><button></button>
<img src="http://127.0.0.1:9/away.png"><script>console.error("oh")</script>
<p style="break-before:page">two</p><p style="break-before:page">three</p></body></html>"""
FAULTS = [
    "contrast", "small letters", "wider than its window", "picture without name", "letters off their picture", "table without head", "head without scope",
    "part without name", "control without name", "no language", "a level left out", "0 main", "console:", "network:",
    "prints to 3 pages", "is not in print",
]  # fmt: skip


def of_itself(browser, folder):
    """What this script would not see: nothing, if it sees every planted fault."""
    page = folder / "planted.html"
    page.write_text(PLANTED, encoding="utf-8")
    told = look(browser, page, ["never written"], 2, folder)
    return [f"not seen: {fault}" for fault in FAULTS if not any(fault in one for one in told)]


def run(program, data, *arguments):
    environment = {**os.environ, "ALLROADS_NOW": "2031-11-05T20:00:00+00:00"}
    subprocess.run([program, "--data", str(data), *map(str, arguments)], check=True, stdout=subprocess.PIPE, env=environment)


def logbook(program, folder, routines, *how):
    export = folder.with_suffix(".jsonl")
    told = subprocess.run(
        [sys.executable, HERE / "made_up.py", *routines, *how], check=True, stdout=subprocess.PIPE
    ).stdout
    export.write_bytes(told)
    run(program, folder, "log", "import", export)
    return folder


def titles(routine):
    """The routine's title, and those of its steps, as the file has them."""
    lines = [line.strip().removeprefix("- ") for line in routine.read_text(encoding="utf-8").splitlines()]
    return [line.removeprefix("title: ").strip("\"'") for line in lines if line.startswith("title: ")]


def main():
    program, folder = str(pathlib.Path(sys.argv[1]).resolve()), pathlib.Path(sys.argv[2]).resolve()
    chromium = sys.argv[3] if len(sys.argv) > 3 else shutil.which("chromium")
    if not chromium:
        raise SystemExit("chromium is not installed")
    folder.mkdir(parents=True, exist_ok=True)
    drills = sorted(DRILLS.glob("*.yaml"))
    today, soon = "2031-11-05", "2031-11-22"
    long = logbook(program, folder / "long", drills, "--weeks", "300", "--until", today, "--show", soon)
    short = logbook(program, folder / "short", drills[:1], "--weeks", "1", "--until", today, "--answers-a-week", "9")
    rich = logbook(program, folder / "rich", [EVERYTHING], "--weeks", "20", "--until", today)
    none = folder / "none"
    pages = []
    for routine in drills:
        page = folder / f"{routine.stem}.html"
        run(program, long, "progress", routine, "--html", page)
        pages.append((page, [*titles(routine), "on the night"], 2))
        sheet = folder / f"{routine.stem}-sheet.html"
        run(program, long, "sheet", routine, "--html", sheet)
        pages.append((sheet, titles(routine), 1))
    for name, data, named, words in (
        ("all", long, [], ["All routines", *(titles(one)[0] for one in drills)]),
        ("everything", rich, [EVERYTHING], titles(EVERYTHING)[:1]),
        ("short", short, [drills[0]], [titles(drills[0])[0], "A guess so far"]),
        ("never", none, [drills[0]], [titles(drills[0])[0], "Not rehearsed yet"]),
        ("nothing", none, [], ["Nothing has been rehearsed yet"]),
    ):
        page = folder / f"{name}.html"
        run(program, data, "progress", *named, "--html", page)
        pages.append((page, words, 2))
    sheet = folder / "everything-sheet.html"
    run(program, rich, "sheet", EVERYTHING, "--html", sheet)
    pages.append((sheet, titles(EVERYTHING)[:1], 2))
    found = []
    with tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as profile:
        browser = Browser(chromium, profile)
        try:
            found += of_itself(browser, folder)
            for page, words, most in pages:
                found += look(browser, page, words, most, folder)
        finally:
            browser.close()
    if found:
        raise SystemExit("\n".join(found))
    print(f"{len(pages)} pages are sound")


if __name__ == "__main__":
    main()
