"""Pictures of tape drawn by general drawing calls (OpenCV circles, polygons, warps), apart from the practice machine.

Nothing here is shared with the program: the dimensions are typed in again from the reference notes
(17.46 mm tape, 2.54 mm grid, 1.83 and 1.17 mm holes, feed line 9.96 mm from the three-hole edge).
Tape coordinates: x along the tape from the first row, y downwards, the feed line at y = 0, millimetres.
"""

from dataclasses import dataclass, field

import cv2
import numpy as np

GRID, CODE, FEED = 2.54, 1.83, 1.17
#: y of tracks 1 to 5 in grid steps: two above the feed line, three below
TRACKS = (-2, -1, 1, 2, 3)
TOP, BOTTOM = -7.50, 9.96
SHIFT = 6  # binary digits of sub-pixel drawing


@dataclass
class Look:
    """How a tape is punched and how its picture is taken."""

    dpi: float = 300
    angle: float = 0.0
    turned: bool = False
    mirrored: bool = False
    bend: float = 0.0  # sagitta over the length, mm
    perspective: float = 0.0  # narrowing of the far side
    shade: float = 0.0
    noise: float = 2.0
    blur: float = 0.6  # px
    paper: tuple = (222, 222, 222)
    hole: tuple = (40, 40, 40)
    ground: tuple = (40, 40, 40)
    dirt: int = 0
    strokes: int = 0
    jpeg: int | None = None
    advanced: bool = False
    margin: float = 4.0
    lead: float = 6.0
    seed: int = 0
    pitch: float = GRID
    x: list | None = None  # own place of each row along the tape
    code_diameter: float = CODE
    feed_diameter: float = FEED
    offset: dict = field(default_factory=dict)  # track -> (along, across)
    faults: dict = field(default_factory=dict)  # (row, track) -> "absent" | "half" | "flap" | "chad" | "hinge"
    torn: bool = False
    grey: bool = True
    edge_shadow: float = 0.0  # darkness of a rim along every edge of paper


@dataclass
class Drawn:
    """A picture with what is true of it."""

    image: np.ndarray
    row_xy: np.ndarray  # (n, 2) feed line centre of each row, px
    hole_xy: np.ndarray  # (n, 5, 2) px
    codes: list


def _point(x, y, scale, origin):
    return (round(((x - origin[0]) * scale - 0.5) * 2**SHIFT), round(((y - origin[1]) * scale - 0.5) * 2**SHIFT))


def _disc(mask, x, y, diameter, scale, origin, value):
    # cv2.circle paints its outline too, a pixel too wide: so pixel by pixel
    cx, cy, r = (x - origin[0]) * scale - 0.5, (y - origin[1]) * scale - 0.5, diameter / 2 * scale
    left, top = max(int(cx - r), 0), max(int(cy - r), 0)
    part = mask[top : int(cy + r) + 2, left : int(cx + r) + 2]
    dy, dx = np.ogrid[: part.shape[0], : part.shape[1]]
    part[(dx + left - cx) ** 2 + (dy + top - cy) ** 2 < r * r] = value


def _cover(mask, fault, x, y, diameter, scale, origin, rng):
    """Put back the paper a fault leaves in the hole."""
    r = diameter / 2
    turn = rng.uniform(0, 2 * np.pi)
    if fault == "half":
        share = 0.0
    elif fault == "flap":
        share = rng.uniform(-0.1, 0.35)
    else:
        share = None
    if share is not None:
        # everything beyond a chord at distance share * r from the centre
        c, s = np.cos(turn), np.sin(turn)
        corners = [(share * r, -2 * r), (share * r, 2 * r), (2 * r, 2 * r), (2 * r, -2 * r)]
        polygon = np.array([_point(x + a * c - b * s, y + a * s + b * c, scale, origin) for a, b in corners])
        piece = np.zeros_like(mask)
        cv2.fillPoly(piece, [polygon.astype(np.int32)], 255, cv2.LINE_8, SHIFT)
        disc = np.zeros_like(mask)
        _disc(disc, x, y, diameter, scale, origin, 255)
        mask[(piece > 0) & (disc > 0)] = 0
    if fault == "chad":
        # the chad still hangs at one side, turned so that it is seen as an ellipse
        away = 0.45 * r
        centre = _point(x + away * np.cos(turn), y + away * np.sin(turn), scale, origin)
        axes = (round(0.62 * r * scale * 2**SHIFT), round(0.95 * r * scale * 2**SHIFT))
        cv2.ellipse(mask, centre, axes, np.degrees(turn), 0, 360, 0, -1, cv2.LINE_8, SHIFT)


def punched_mask(codes, look, scale, origin, size, rng):
    """Return 255 where one sees through the tape or past it, 0 on paper."""
    mask = np.full(size, 255, np.uint8)
    xs = places(codes, look)
    left, right = -look.lead, xs[-1] + look.lead
    outline = [(left, TOP), (right, TOP), (right, BOTTOM), (left, BOTTOM)]
    if look.torn:
        ys = np.linspace(BOTTOM, TOP, 9)[1:-1]
        tear = [(left + rng.uniform(0, 1.6 * look.lead), y) for y in ys]
        outline = [*outline, *tear]
    polygon = np.array([_point(x, y, scale, origin) for x, y in outline], np.int32)
    cv2.fillPoly(mask, [polygon], 0, cv2.LINE_8, SHIFT)
    for n, code in enumerate(codes):
        _disc(mask, xs[n] - (0.33 if look.advanced else 0), 0, look.feed_diameter, scale, origin, 255)
        for k in range(1, 6):
            if code[k - 1] == "1":
                fault = look.faults.get((n, k))
                x, y = hole_place(xs[n], k, look)
                if fault != "absent":
                    _disc(mask, x, y, look.code_diameter, scale, origin, 255)
                if fault:
                    _cover(mask, fault, x, y, look.code_diameter, scale, origin, rng)
    return mask


def places(codes, look):
    return np.array(look.x) if look.x is not None else np.arange(len(codes)) * look.pitch


def hole_place(x, track, look):
    along, across = look.offset.get(track, (0.0, 0.0))
    return x + along, TRACKS[track - 1] * GRID + across


def _ways(codes, look, rng):
    """Return picture size and the two mappings: tape mm to picture px, picture px to tape mm."""
    xs = places(codes, look)
    left, right = -look.lead, xs[-1] + look.lead
    middle = np.array([(left + right) / 2, (TOP + BOTTOM) / 2])
    half = (right - left) / 2
    px = look.dpi / 25.4
    turn = np.radians(look.angle + (180 if look.turned else 0))
    rotation = np.array([[np.cos(turn), -np.sin(turn)], [np.sin(turn), np.cos(turn)]])
    flip = -1.0 if look.mirrored else 1.0
    tilt = look.perspective / max(half, 20) * rotation @ np.array([1.0, 0.35])

    def forward(points):
        p = np.asarray(points, float) - middle
        p = np.stack([p[..., 0], p[..., 1] * flip], -1)
        if look.bend:
            radius = half**2 / (2 * look.bend)
            a = p[..., 0] / radius
            p = np.stack([(radius - p[..., 1]) * np.sin(a), radius - (radius - p[..., 1]) * np.cos(a)], -1)
        p = p @ rotation.T
        return p / (1 + p @ tilt)[..., None]

    box = [(x, y) for x in np.linspace(left, right, 33) for y in (TOP, BOTTOM)]
    flat = forward(box)
    low, high = flat.min(0) - look.margin, flat.max(0) + look.margin
    size = np.ceil((high - low) * px).astype(int)

    def to_px(points):
        return (forward(points) - low) * px - 0.5

    def to_mm(pixels):
        # part by part: a matrix product over so many pairs takes five times as long
        x, y = ((np.asarray(pixels[..., n], float) + 0.5) / px + low[n] for n in (0, 1))
        if tilt.any():
            far = 1 - (x * tilt[0] + y * tilt[1])
            x, y = x / far, y / far
        x, y = x * rotation[0, 0] + y * rotation[1, 0], x * rotation[0, 1] + y * rotation[1, 1]
        if look.bend:
            radius = half**2 / (2 * look.bend)
            way = np.sign(radius)
            away = way * np.hypot(x, radius - y)
            x, y = radius * np.arctan2(way * x, way * (radius - y)), radius - away
        return np.stack([x + middle[0], y * flip + middle[1]], -1)

    return size, to_px, to_mm


def draw(codes, look=None, **changes):
    """Draw one strip; `changes` are fields of Look."""
    look = look or Look()
    for name, value in changes.items():
        setattr(look, name, value)
    rng = np.random.default_rng(look.seed)
    xs = places(codes, look)
    origin = (-look.lead - 1.5, TOP - 1.5)
    length = xs[-1] + 2 * look.lead + 3
    scale = min(max(look.dpi / 25.4 * 3, 20), 75, 32000 / length)
    size = (int((BOTTOM - TOP + 3) * scale), int(length * scale))
    mask = punched_mask(codes, look, scale, origin, size, rng)
    (width, height), to_px, to_mm = _ways(codes, look, rng)
    opened = _seen(mask, width, height, to_mm, scale, origin, look)
    image = _exposed(opened, look, rng, to_px, xs)
    holes = np.array([[hole_place(x, k, look) for k in range(1, 6)] for x in xs])
    return Drawn(image, to_px(np.stack([xs, 0 * xs], -1)), to_px(holes), codes)


def _seen(mask, width, height, to_mm, scale, origin, look):
    """Warp the mask with two by two rays a pixel, in bands of rows to keep the maps small."""
    out = np.empty((height, width), np.float32)
    sub = 2 if look.dpi < 500 else 1
    across = (np.arange(width * sub) + 0.5) / sub - 0.5
    for top in range(0, height, 128):
        rows = min(128, height - top)
        down = top + (np.arange(rows * sub) + 0.5) / sub - 0.5
        grid = np.stack(np.meshgrid(across, down), -1)
        mm = to_mm(grid)
        mx = ((mm[..., 0] - origin[0]) * scale - 0.5).astype(np.float32)
        my = ((mm[..., 1] - origin[1]) * scale - 0.5).astype(np.float32)
        parts = [
            cv2.remap(mask, mx[:, i : i + 30000], my[:, i : i + 30000], cv2.INTER_LINEAR, borderValue=255)
            for i in range(0, mx.shape[1], 30000)
        ]
        seen = np.hstack(parts).astype(np.float32)
        out[top : top + rows] = seen.reshape(rows, sub, width, sub).mean((1, 3))
    return out / 255


def _exposed(opened, look, rng, to_px, xs):
    channels = [0] if look.grey else [0, 1, 2]
    planes = []
    beyond = _beyond(opened, look, to_px, xs)
    dirt = _dirt(opened.shape, look, rng)
    ramp = _shade(opened.shape, look, rng)
    rim = cv2.GaussianBlur(opened, (0, 0), max(0.1 * look.dpi / 25.4, 0.5)) if look.edge_shadow else None
    for c in channels:
        behind = look.hole[c] + (look.ground[c] - look.hole[c]) * beyond
        plane = look.paper[c] * (1 - dirt) + 50 * dirt
        plane = plane * (1 - opened) + behind * opened
        if rim is not None:
            plane = plane - look.edge_shadow * 4 * rim * (1 - rim)
        plane = plane * ramp
        plane = cv2.GaussianBlur(plane.astype(np.float32), (0, 0), look.blur) if look.blur else plane
        plane = plane + np.float32(look.noise) * rng.standard_normal(plane.shape, np.float32)
        planes.append(np.clip(np.rint(plane), 0, 255).astype(np.uint8))
    image = planes[0] if look.grey else np.dstack(planes)
    if look.jpeg:
        _, data = cv2.imencode(".jpg", image, [cv2.IMWRITE_JPEG_QUALITY, look.jpeg])
        image = cv2.imdecode(data, cv2.IMREAD_UNCHANGED)
    return image


def _beyond(opened, look, to_px, xs):
    """Return 1 outside the tape, 0 within its outline."""
    n = 60
    along = np.linspace(-look.lead, xs[-1] + look.lead, n)
    outline = np.vstack([np.stack([along, np.full(n, TOP)], -1), np.stack([along[::-1], np.full(n, BOTTOM)], -1)])
    beyond = np.ones(opened.shape, np.float32)
    cv2.fillPoly(beyond, [np.rint(to_px(outline)).astype(np.int32)], 0)
    return beyond


def _dirt(shape, look, rng):
    """Return spots and pen strokes, 0 clean to about 1 black."""
    dirt = np.zeros(shape, np.float32)
    px = look.dpi / 25.4
    for _ in range(look.dirt):
        centre = (int(rng.uniform(0, shape[1])), int(rng.uniform(0, shape[0])))
        cv2.circle(dirt, centre, max(1, round(rng.uniform(0.1, 0.45) * px)), rng.uniform(0.3, 0.8), -1)
    for _ in range(look.strokes):
        ends = rng.uniform(0, 1, (2, 2)) * (shape[1], shape[0])
        a, b = np.rint(ends).astype(int).tolist()
        cv2.line(dirt, a, b, rng.uniform(0.5, 1.0), max(1, round(0.35 * px)), cv2.LINE_AA)
    return cv2.GaussianBlur(dirt, (0, 0), 0.7)


def _shade(shape, look, rng):
    turn = rng.uniform(0, 2 * np.pi)
    if not look.shade:
        return np.float32(1)
    y, x = np.mgrid[0 : shape[0], 0 : shape[1]].astype(np.float32)
    ramp = (x / shape[1] - 0.5) * np.cos(turn) + (y / shape[0] - 0.5) * np.sin(turn)
    return 1 - look.shade * (ramp / max(np.ptp(ramp), 1e-6) + 0.5)
