#!/usr/bin/env python3
"""Use a page as a reader does: point at its charts, go along them by keyboard, scrub, sort, filter.

Usage: page_answers.py PAGE.html...

One line is printed for each thing that did not answer; the exit code is 1 if
there was any.  What a page does not have is not asked of it, but the pages
together must have all of it.

Needs: the Debian package chromium, and from PyPI playwright.
"""

import sys
from pathlib import Path

from pages import start_browser
from playwright.sync_api import sync_playwright

READOUT = "#readout"


def unfold(page):
    """Open all folded parts."""
    page.evaluate("() => document.querySelectorAll('details').forEach(d => { d.open = true; })")


def told(page):
    """What the read-out says."""
    return page.locator(READOUT).text_content()


def pointing(page):
    """A chart with curves tells their values under the pointer, and nothing when the pointer leaves."""
    chart = page.locator(".chart:has(g.field polyline)").first
    if not chart.count():
        return None
    frame = chart.locator("g.field").first
    frame.scroll_into_view_if_needed()
    box = frame.bounding_box()
    page.mouse.move(box["x"] + 0.5 * box["width"], box["y"] + 0.5 * box["height"])
    lines = told(page).splitlines()
    if len(lines) < 3 or not any(line.startswith("  ") and line.split()[-1].lstrip("-")[0].isdigit() for line in lines):
        return f"pointing at a chart told {lines}"
    page.mouse.move(1, 1)
    return f"the read-out stayed: {told(page)}" if told(page) else ""


def parts(page):
    """A part of a strip or a bar tells its line of the ledger."""
    part = page.locator(".chart [data-told]").first
    if not part.count():
        return None
    part.scroll_into_view_if_needed()
    part.hover(force=True)
    words = part.get_attribute("data-told")
    return "" if words and words in told(page) else f"a part with `{words}` told `{told(page)}`"


def keyboard(page):
    """The arrow keys go along a chart, Escape ends it."""
    chart = page.locator(".chart:has(g.field polyline)").first
    if not chart.count():
        return None
    # A pointer that rests on a chart would speak too when the page moves beneath it.
    page.mouse.move(1, 1)
    chart.focus()
    page.keyboard.press("Home")
    first = told(page)
    page.keyboard.press("End")
    last = told(page)
    page.keyboard.press("Escape")
    if not first or not last or first == last:
        return f"the keyboard told `{first}`, then `{last}`"
    return "Escape left the read-out" if told(page) else ""


def scrubbing(page):
    """A slider takes the profiles through time."""
    slider = page.locator(".scrub input").first
    if not slider.count():
        return None
    figure = page.locator("figure:has(.scrub)").first
    paths = lambda: figure.locator(".profile").evaluate_all("all => all.map(line => line.getAttribute('d'))")
    before = paths()
    slider.fill(slider.get_attribute("max"))
    after = paths()
    moment = figure.locator("output").text_content()
    if not all("L" in path for path in after) or before == after:
        return "the slider left the profiles as they were"
    return "" if moment.endswith(" ms") and not moment.startswith("0.0") else f"the slider said `{moment}`"


def column(table, number):
    """Texts of a column in the order in which its rows stand."""
    return table.evaluate(
        "(table, k) => Array.from(table.tBodies[0].rows, row => row.cells[k].dataset.key || row.cells[k].textContent.trim())",
        number,
    )


def sorting(page):
    """A head sorts its column, and again the other way."""
    table = page.locator("table.sortable").first
    if not table.count():
        return None
    heads = table.locator("thead button")
    number = next(k for k in range(3, heads.count()) if len(set(column(table, k))) > 1)
    for falling in (False, True):
        heads.nth(number).click()
        numbers = [float(text) for text in column(table, number) if text]
        if numbers != sorted(numbers, reverse=falling):
            return f"column {number} is not sorted"
    return ""


def filtering(page):
    """A text leaves the rows that hold it, and says how many."""
    field = page.locator("input.filter").first
    if not field.count():
        return None
    rows = page.locator("table.sortable tbody tr")
    whole = rows.count()
    table = page.locator("table.sortable").first
    cells = [column(table, number) for number in range(1, table.locator("thead th").count())]
    wanted = next(texts[0] for texts in cells if len(set(texts)) > 1 and texts[0])
    field.fill(wanted)
    left = page.locator("table.sortable tbody tr:visible").count()
    field.fill("nothing has this")
    none = page.locator("table.sortable tbody tr:visible").count()
    field.fill("")
    if not 0 < left < whole or none:
        return f"of {whole} rows `{wanted}` left {left}, nonsense {none}"
    return ""


ANSWERS = {f.__name__: f for f in (pointing, parts, keyboard, scrubbing, sorting, filtering)}


def main():
    """Ask every page for everything; all of it must have been found once at least."""
    faults, found = [], set()
    with sync_playwright() as playwright:
        browser = start_browser(playwright)
        for path in map(Path, sys.argv[1:]):
            page = browser.new_page(viewport={"width": 1280, "height": 900})
            page.goto(path.resolve().as_uri())
            unfold(page)
            for name, ask in ANSWERS.items():
                fault = ask(page)
                if fault is not None:
                    found.add(name)
                if fault:
                    faults.append(f"{path}: {fault}")
            page.close()
        browser.close()
    faults += [f"no page has anything for {name}" for name in ANSWERS if name not in found]
    print("\n".join(faults) or f"{len(found)} kinds of answers, all given")
    return 1 if faults else 0


if __name__ == "__main__":
    sys.exit(main())
