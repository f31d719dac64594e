"""Pictures of tape with five to eight tracks, drawn by hand from the published layouts.

Nothing of the practice machine is in them. Grid 2.54 mm, code holes 1.83 mm, feed holes 1.17 mm; three tracks, the
feed, then the rest (published layouts: 3+1+2 for five tracks, 3+1+5 for eight); eight tracks are 25.4 mm wide (ECMA-10,
ISO 1154). That six and seven tracks are 7/8 inch wide is from memory.
"""

import cv2
import numpy as np

WIDTH_MM = {5: 17.46, 6: 22.22, 7: 22.22, 8: 25.4}
FEED_TO_EDGE_MM = 9.96
MARGIN_MM = 8.0


def tape_picture(tracks, *, rows=40, dpi=300, seed=0, turned=0, flipped=False, ground=30, share=0.5):
    """Return the grey picture of a tape, a random share of its holes punched, turned by so many quarters."""
    rng = np.random.default_rng(seed)
    px = dpi / 25.4
    width, length = WIDTH_MM[tracks], rows * 2.54 + 12
    size = (int((width + 2 * MARGIN_MM) * px), int((length + 2 * MARGIN_MM) * px))
    picture = np.full(size, ground, np.uint8)
    corner = (int((MARGIN_MM + length) * px), int((MARGIN_MM + width) * px))
    cv2.rectangle(picture, (int(MARGIN_MM * px), int(MARGIN_MM * px)), corner, 225, -1)
    feed_y = MARGIN_MM + FEED_TO_EDGE_MM

    def hole(x_mm, y_mm, diameter_mm):
        centre = (round(x_mm * px * 16), round(y_mm * px * 16))
        cv2.circle(picture, centre, round(diameter_mm / 2 * px * 16), ground, -1, cv2.LINE_AA, 4)

    for row in range(rows):
        x = MARGIN_MM + 6 + row * 2.54
        hole(x, feed_y, 1.17)
        for track in range(tracks):
            if rng.random() < share:
                hole(x, feed_y + (track - 3 if track < 3 else track - 2) * 2.54, 1.83)
    picture = cv2.GaussianBlur(picture, (0, 0), 0.8)
    noisy = picture + rng.normal(0, 2, picture.shape)
    picture = np.clip(noisy, 0, 255).astype(np.uint8)
    return np.ascontiguousarray(np.rot90(picture[:, ::-1] if flipped else picture, turned))
