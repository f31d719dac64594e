"""Picture of a recorded coil current: the first closings one over the other, landing marked with its doubt."""

from tapewright.coil.document import Closure
from tapewright.coil.measure import CurrentRead
from tapewright.furniture.plot import GROUND, INK, PROVED, QUIET, Axes, Drawing

MOST_CLOSINGS, POINTS = 8, 1200
AFTER_LANDINGS = 2.5


def coil_plot(read: CurrentRead) -> str:
    """Return the picture as SVG."""
    coil, p = read.coil, read.prepared
    drawing = Drawing(190, 100, f"Coil current of {coil.source.file}")
    drawing.rect(0, 0, 190, 100, fill=GROUND)
    answer = {True: "the armature moved", False: "the armature did not move", None: "cannot tell whether it moved"}
    drawing.text(18, 9, f"{coil.source.file}: {answer[coil.moved]}", size_mm=3.8)
    if not p.closings or p.doubts:
        drawing.text(18, 20, "; ".join(p.doubts), size_mm=3.2)
        return drawing.svg()
    span_s = _span(read)
    top = max(float(p.current_a.max()), p.level_a) * 1.05e3
    axes = Axes(drawing, 18, 24, 160, 58, (0.0, span_s * 1e3), (min(0.0, float(p.current_a.min()) * 1e3), top))
    axes.x_axis("ms from the closing of the switch")
    axes.y_axis("mA")
    for closure in coil.closures[:MOST_CLOSINGS]:
        _one(axes, read, closure, span_s)
    if coil.landing_ms.value is not None:
        text = f"lands after {coil.landing_ms}"
        drawing.text(178, 15, text, size_mm=3.4, text_anchor="end")
    return drawing.svg()


def _span(read: CurrentRead) -> float:
    coil, p = read.coil, read.prepared
    closing = p.closings[0]
    whole = (closing.off - closing.rise) / p.rate_hz
    if coil.landing_ms.value is not None:
        return min(whole, AFTER_LANDINGS * coil.landing_ms.value * 1e-3)
    return min(whole, 8 * (coil.tau_ms.value or whole * 1e3) * 1e-3)


def _one(axes: Axes, read: CurrentRead, closure: Closure, span_s: float) -> None:
    p = read.prepared
    first = max(0, round(closure.on_s * p.rate_hz))
    last = min(p.current_a.size, first + int(span_s * p.rate_hz))
    step = max(1, (last - first) // POINTS)
    points = (((n / p.rate_hz - closure.on_s) * 1e3, p.current_a[n] * 1e3) for n in range(first, last, step))
    axes.curve(((max(x, 0.0), y) for x, y in points), colour=INK if closure.moved else QUIET, width=0.25)
    landing = closure.landing_ms
    if landing.value is not None and landing.value * 1e-3 <= span_s:
        at = min(p.current_a.size - 1, round((closure.on_s + landing.value * 1e-3) * p.rate_hz))
        x, y = axes.x(landing.value), axes.y(float(p.current_a[at]) * 1e3)
        axes.drawing.circle(x, y, 0.9, fill=PROVED)
        if landing.expanded:
            low, high = axes.x(landing.value - landing.expanded), axes.x(landing.value + landing.expanded)
            axes.drawing.line(low, y, high, y, stroke=PROVED, stroke_width=0.5)
