"""Whether anybody can use a page: axe-core's rules tagged WCAG 2.0 to 2.2, A and AA, run in the page itself."""

from pathlib import Path

NODE_MODULES = Path(__file__).parents[2] / "node_modules"
AXE = NODE_MODULES / "axe-core" / "axe.min.js"
VALIDATOR = NODE_MODULES / "html-validate" / "bin" / "html-validate.mjs"
TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]
#: fewer rules passed mean that it looked at nothing
FEWEST_PASSES = 5
#: what can only differ between day and dark: the rules that look at colours
OF_COLOUR = ["color-contrast", "link-in-text-block"]


def installed(program):
    """Return the program's text or path; fail, never skip, where it is not there."""
    assert program.exists(), f"{program.name} is not there; `python3 dev.py test` installs it"
    return program


def barriers(page):
    """Return what stands in somebody's way on a page: rule and where, empty for nothing."""
    if not page.evaluate("typeof window.axe === 'object'"):
        page.evaluate(installed(AXE).read_text(encoding="utf-8"))
    return _found(page, {"runOnly": TAGS, "rules": {"target-size": {"enabled": True}}}, FEWEST_PASSES)


def barriers_of_colour(page):
    """Return what of it lies in the colours, on a page that `barriers` looked at in others."""
    return _found(page, {"runOnly": {"type": "rule", "values": OF_COLOUR}}, 0)


def _found(page, options, fewest):
    found = page.evaluate("(options) => axe.run(document, options)", options)
    assert len(found["passes"]) > fewest, "axe-core looked at nothing"
    return [f"{v['id']}: {[n['html'][:120] for n in v['nodes'][:3]]}" for v in found["violations"]]
