#!/usr/bin/env python3
"""Open finished HTML pages in a real browser and say plainly what is wrong.

Usage: pages.py PAGE.html... [--pictures FOLDER]

Each page is opened from disk in headless Chromium, wide and narrow, in light
and in dark.  One line is printed for each fault; the exit code is 1 if there
was any, 2 if the check could not be run at all, and 0 otherwise.

Needs: the Debian package chromium, and from PyPI playwright and
axe-playwright-python.
"""

import argparse
import shutil
import sys
from dataclasses import dataclass
from pathlib import Path
from urllib.parse import urldefrag

from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Error as BrowserError
from playwright.sync_api import sync_playwright

GRAVE = {"serious", "critical"}
SETTLE_MS = 250

# No host name resolves, so a page that asks for something outside gets nothing.
BROWSER_FLAGS = ["--host-resolver-rules=MAP * ~NOTFOUND"]

# Opens folded parts and loads at once what would wait until it is scrolled to.
UNFOLD = """() => {
  document.querySelectorAll('details').forEach(d => { d.open = true; });
  document.querySelectorAll('[loading=lazy]').forEach(e => { e.loading = 'eager'; });
}"""

PAGE_WIDTH = "() => Math.max(document.documentElement.scrollWidth, document.body.scrollWidth)"

# What a figure is called in a fault line; and parts of an svg that are not drawn as such.
WORDS = """
  const nameOf = (figure, i) => figure.id
    || figure.querySelector('figcaption')?.textContent.trim().slice(0, 40) || `number ${i + 1}`;
  const asleep = 'defs, clipPath, mask, symbol, marker, pattern';
"""

# Gives one entry per <figure>: its name, and what is wrong with it ('' if nothing).
FIGURES = """() => {""" + WORDS + """
  const hasArea = e => { const b = e.getBoundingClientRect(); return b.width > 0 && b.height > 0; };
  const hasExtent = e => { const b = e.getBoundingClientRect(); return b.width > 0 || b.height > 0; };
  const painted = e => { const s = getComputedStyle(e);
    return s.visibility === 'visible' && s.opacity !== '0' && (s.fill !== 'none' || s.stroke !== 'none'); };
  const fills = (e, svg) => { const b = e.getBoundingClientRect(), s = svg.getBoundingClientRect();
    return e.tagName === 'rect' && b.width >= 0.98 * s.width && b.height >= 0.98 * s.height; };
  const marked = {
    svg: p => [...p.querySelectorAll('path, line, polyline, polygon, rect, circle, ellipse, image, use')]
      .some(e => !e.closest(asleep) && hasExtent(e) && painted(e) && !fills(e, p)),
    canvas: p => { const copy = document.createElement('canvas');
      copy.width = p.width; copy.height = p.height;
      const pen = copy.getContext('2d'); pen.drawImage(p, 0, 0);
      const dots = new Uint32Array(pen.getImageData(0, 0, p.width, p.height).data.buffer);
      return dots.some(d => d !== dots[0]); },
    img: p => p.complete && p.naturalWidth > 0,
  };
  const fault = figure => {
    const pictures = [...figure.querySelectorAll('svg, canvas, img')];
    if (!pictures.length) return 'holds no svg, canvas or img';
    const sized = pictures.filter(hasArea);
    if (!sized.length) return 'has a picture of zero size';
    return sized.some(p => marked[p.tagName.toLowerCase()](p)) ? '' : 'has a picture with nothing drawn in it';
  };
  return [...document.querySelectorAll('figure')].map((f, i) => ({name: nameOf(f, i), fault: fault(f)}));
}"""


# Gives a line for each figure whose lettering is cut off or hard to read against
# what lies behind it.  axe-core does not judge the contrast of text inside an svg.
LETTERING = """() => {""" + WORDS + """
  const pen = Object.assign(document.createElement('canvas'), {width: 1, height: 1})
    .getContext('2d', {willReadFrequently: true});
  const rgba = colour => { pen.clearRect(0, 0, 1, 1); pen.fillStyle = colour; pen.fillRect(0, 0, 1, 1);
    return [...pen.getImageData(0, 0, 1, 1).data]; };
  const light = ([r, g, b]) => [r, g, b].map(c => c / 255)
    .map(c => c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4)
    .reduce((sum, c, i) => sum + c * [0.2126, 0.7152, 0.0722][i], 0);
  const ratio = (a, b) => { const [low, high] = [light(a), light(b)].sort((x, y) => x - y);
    return (high + 0.05) / (low + 0.05); };
  const shade = e => { const s = getComputedStyle(e);
    // A line has no inside, though its fill is black unless it says otherwise.
    if (e.matches('line')) return null;
    if (!(e instanceof SVGGeometryElement)) return e instanceof SVGElement && !e.matches('svg') ? null : s.backgroundColor;
    return s.fill.startsWith('rgb') && s.fillOpacity === '1' && s.opacity === '1' ? s.fill : null; };
  const sheet = new CSSStyleSheet();
  sheet.replaceSync('* { pointer-events: auto !important; scroll-behavior: auto !important }');
  document.adoptedStyleSheets.push(sheet);
  const paper = document.documentElement.appendChild(document.createElement('i'));
  paper.style.backgroundColor = 'Canvas';
  const behind = (text, box) => {
    for (const e of document.elementsFromPoint(box.x + box.width / 2, box.y + box.height / 2)) {
      const colour = text.contains(e) ? null : shade(e);
      if (colour && rgba(colour)[3] === 255) return rgba(colour);
    }
    return rgba(getComputedStyle(paper).backgroundColor);
  };
  const ink = (text, ground) => {
    const style = getComputedStyle(text), full = rgba(style.fill);
    let part = full[3] / 255 * style.fillOpacity;
    for (let e = text; e && e.tagName !== 'FIGURE'; e = e.parentElement) part *= getComputedStyle(e).opacity;
    return full.slice(0, 3).map((c, i) => part * c + (1 - part) * ground[i]);
  };
  const fault = text => {
    text.scrollIntoView({block: 'center', inline: 'center'});
    let picture = text.ownerSVGElement;
    while (picture.ownerSVGElement) picture = picture.ownerSVGElement;
    const box = text.getBoundingClientRect(), edge = picture.getBoundingClientRect();
    const over = Math.max(edge.left - box.left, box.right - edge.right, edge.top - box.top, box.bottom - edge.bottom);
    if (over > 2 && getComputedStyle(picture).overflow !== 'visible') return 'is cut off';
    const ground = behind(text, box), found = ratio(ink(text, ground), ground);
    const wanted = parseFloat(getComputedStyle(text).fontSize) >= 24 ? 3 : 4.5;
    return found < wanted ? `has a contrast of ${found.toFixed(1)}, below ${wanted}` : '';
  };
  const shown = t => t.textContent.trim() && !t.closest(asleep)
    && getComputedStyle(t).visibility === 'visible' && t.getBoundingClientRect().width > 0
    && getComputedStyle(t).fill.startsWith('rgb');
  const lines = [...document.querySelectorAll('figure')].flatMap((figure, i) => {
    const faults = [...figure.querySelectorAll('svg text')].filter(shown)
      .map(t => [t.textContent.trim(), fault(t)]).filter(([, f]) => f);
    const more = faults.length > 1 ? `, and ${faults.length - 1} more like it` : '';
    return faults.length ? [`figure '${nameOf(figure, i)}': text '${faults[0][0]}' ${faults[0][1]}${more}`] : [];
  });
  document.adoptedStyleSheets.pop(); paper.remove(); scrollTo(0, 0);
  return lines;
}"""


@dataclass(frozen=True)
class View:
    """One way of looking at a page: how wide, and in which colour scheme."""

    width: int
    scheme: str

    @property
    def name(self):
        """The view in two words, for fault lines and file names."""
        return f"{self.width}-{self.scheme}"

    def settings(self):
        """Browser settings; the narrow view acts as a phone, the wide one as a desktop."""
        phone = self.width < 600
        return {
            "viewport": {"width": self.width, "height": 844 if phone else 900},
            "color_scheme": self.scheme,
            "is_mobile": phone,
            "has_touch": phone,
        }


VIEWS = [View(1280, "light"), View(1280, "dark"), View(390, "light"), View(390, "dark")]
PICTURED = [View(1280, "light"), View(1280, "dark"), View(390, "light")]


class Listener:
    """Hears what a page complains about and what it asks for while it is open."""

    def __init__(self, page, own_address):
        self.own_address = own_address
        self.asked = []
        self.complaints = []
        page.on("request", lambda request: self.note_address(request.url))
        page.on("websocket", lambda socket: self.note_address(socket.url))
        page.on("console", self.note_message)
        page.on("pageerror", lambda error: self.complaints.append(("", f"page error: {error.message}")))

    def note_address(self, address):
        """Keep an address unless it is the page itself or is written inside it."""
        inside = address.startswith(("data:", "blob:", "about:"))
        if not inside and urldefrag(address).url != self.own_address:
            self.asked.append(address)

    def note_message(self, message):
        """Keep a console message if it is an error."""
        if message.type == "error":
            self.complaints.append((message.location.get("url", ""), f"console error: {message.text}"))

    def faults(self):
        """All that was heard; a failed request is told once, as a request."""
        yield from (f"request to {address}" for address in self.asked)
        yield from (
            text
            for source, text in self.complaints
            if not (source in self.asked and "Failed to load resource" in text)
        )


def figure_faults(page):
    """A line for each figure without a picture, without size or without a mark."""
    return [f"figure '{f['name']}' {f['fault']}" for f in page.evaluate(FIGURES) if f["fault"]]


def lettering_faults(page):
    """A line for each figure with text that is cut off or too pale to read."""
    return page.evaluate(LETTERING)


def width_faults(page, view):
    """A line if the page is wider than the view, so that it scrolls sideways."""
    width = page.evaluate(PAGE_WIDTH)
    return [f"page is {width} px wide in a view of {view.width} px"] if width > view.width else []


def access_faults(page):
    """A line for each serious or critical violation that axe-core reports."""
    found = Axe().run(page, options={"resultTypes": ["violations"]}).response["violations"]
    return [
        f"{v['impact']} access fault {v['id']} ({v['help']}) at {v['nodes'][0]['target'][0]}"
        + (f" and {len(v['nodes']) - 1} more" if len(v["nodes"]) > 1 else "")
        for v in found
        if v["impact"] in GRAVE
    ]


def open_page(context, address):
    """Load the page, let its scripts come to rest, and give it with its listener."""
    page = context.new_page()
    listener = Listener(page, address)
    page.goto(address, wait_until="load")
    page.wait_for_timeout(SETTLE_MS)
    return page, listener


def view_faults(browser, address, view):
    """All faults of one page in one view, with folded parts opened."""
    with browser.new_context(**view.settings()) as context:
        try:
            page, listener = open_page(context, address)
            page.evaluate(UNFOLD)
            page.wait_for_timeout(SETTLE_MS)
            heard = list(listener.faults())
            looked = [*figure_faults(page), *lettering_faults(page), *width_faults(page, view), *access_faults(page)]
            return heard + looked
        except BrowserError as error:
            return [f"could not be checked: {error.message.splitlines()[0]}"]


def page_faults(browser, path):
    """Fault lines of one page over all views, each told once with its views."""
    if not path.is_file():
        return ["no such file"]
    seen = {}
    for view in VIEWS:
        for fault in view_faults(browser, path.resolve().as_uri(), view):
            views = seen.setdefault(fault, [])
            if view.name not in views:
                views.append(view.name)
    return [fault if len(views) == len(VIEWS) else f"{fault} [{', '.join(views)}]" for fault, views in seen.items()]


def take_screenshot(browser, path, folder, view):
    """Save the whole page as a reader first sees it in this view."""
    with browser.new_context(**view.settings()) as context:
        page, _ = open_page(context, path.resolve().as_uri())
        page.screenshot(path=folder / f"{path.stem}-{view.name}.png", full_page=True)


def take_print(browser, path, folder):
    """Save the page as it prints on A4, with margins unless it sets its own."""
    with browser.new_context(**PICTURED[0].settings()) as context:
        page, _ = open_page(context, path.resolve().as_uri())
        margins = dict.fromkeys(("top", "right", "bottom", "left"), "12mm")
        page.pdf(path=folder / f"{path.stem}-print.pdf", format="A4", margin=margins, prefer_css_page_size=True)


def take_pictures(browser, path, folder):
    """Save all pictures of a page; gives a fault line if that fails."""
    folder.mkdir(parents=True, exist_ok=True)
    try:
        for view in PICTURED:
            take_screenshot(browser, path, folder, view)
        take_print(browser, path, folder)
    except BrowserError as error:
        return [f"no pictures: {error.message.splitlines()[0]}"]
    return []


def start_browser(playwright):
    """Start the installed Chromium, or stop with a plain word if there is none."""
    chromium = shutil.which("chromium")
    if chromium is None:
        print("chromium is not installed; the Debian package chromium has it", file=sys.stderr)
        sys.exit(2)
    return playwright.chromium.launch(executable_path=chromium, args=BROWSER_FLAGS)


def read_arguments():
    """The pages to look at and, if wanted, the folder for pictures."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("pages", nargs="+", type=Path, metavar="PAGE.html")
    parser.add_argument("--pictures", type=Path, metavar="FOLDER")
    chosen = parser.parse_args()
    if chosen.pictures and len({page.stem for page in chosen.pages}) < len(chosen.pages):
        parser.error("with --pictures, no two pages may have the same name")
    return chosen


def main():
    """Check every page, print its faults, and give the exit code."""
    chosen = read_arguments()
    failed = 0
    with sync_playwright() as playwright:
        browser = start_browser(playwright)
        for path in chosen.pages:
            faults = page_faults(browser, path)
            if chosen.pictures and path.is_file():
                faults += take_pictures(browser, path, chosen.pictures)
            for fault in faults:
                print(f"{path}: {fault}")
            failed += bool(faults)
        browser.close()
    print(f"pages: {len(chosen.pages) - failed} passed, {failed} failed")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
