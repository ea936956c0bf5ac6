"""A small perspective drawing board for make_photos.py: a camera, flat polygons, and faces that are drawn on in inches.

World: x = station back from the nose, y = towards the curbside from the middle, z = up from the ground; all in inches.
Everything is drawn at twice the size and shrunk, so that edges are smooth. Nothing here is random.
"""

import numpy as np
from PIL import Image, ImageDraw

FINE = 2  # drawn this many times larger than the photo


class Camera:
    """A pinhole camera at `eye` that looks at `target`; `view` is the angle across the longer side, in degrees."""

    def __init__(self, eye, target, view=65, portrait=False):
        self.size = (3000, 4000) if portrait else (4000, 3000)
        self.eye = np.array(eye, float)
        ahead = np.array(target, float) - self.eye
        ahead /= np.linalg.norm(ahead)
        right = np.cross(ahead, [0, 0, 1.0])
        right /= np.linalg.norm(right)
        self.turn = np.array([right, np.cross(right, ahead), ahead])
        self.focal = 2000 / np.tan(np.radians(view / 2))

    def pixels(self, points):
        """Pixels of a polygon; what is behind the camera is cut away. Empty if nothing is left."""
        kept = (np.asarray(points, float) - self.eye) @ self.turn.T
        # In front of the camera, then the four sides of a pyramid twice as wide as any photo.
        for plane in ([0, 0, 1, 4], [1, 0, 3, 0], [-1, 0, 3, 0], [0, 1, 3, 0], [0, -1, 3, 0]):
            kept = cut(kept, np.array(plane[:3], float), plane[3])
            if len(kept) < 2:
                return []
        middle = np.array(self.size) / 2
        return middle + kept[:, :2] / kept[:, 2:] * self.focal * [1, -1]


class Board:
    """One photo being drawn."""

    def __init__(self, camera):
        self.camera = camera
        self.image = Image.new("RGB", [side * FINE for side in camera.size])
        self.draw = ImageDraw.Draw(self.image)

    def poly(self, points, colour):
        """A flat polygon in the world."""
        self.flat(self.camera.pixels(points), colour)

    def flat(self, pixels, colour):
        """A polygon in pixels of the photo."""
        if len(pixels) > 2:
            self.draw.polygon([tuple(p) for p in np.asarray(pixels) * FINE], fill=colour)

    def hull(self, points, colour):
        """The outline of a solid: the convex hull of its points as seen."""
        pixels = sorted(map(tuple, self.camera.pixels(points)))
        halves = []
        for run in (pixels, pixels[::-1]):
            half = []
            for p in run:
                while len(half) > 1 and cross(half[-2], half[-1], p) <= 0:
                    half.pop()
                half.append(p)
            halves += half[:-1]
        self.flat(halves, colour)

    def box(self, low, high, colour):
        """A block, drawn as the hull of its corners."""
        self.hull([(x, y, z) for x in (low[0], high[0]) for y in (low[1], high[1]) for z in (low[2], high[2])], colour)

    def photo(self):
        return self.image.resize(self.camera.size, Image.BOX)


def cut(points, normal, least):
    """The part of a polygon where normal . point is at least `least`."""
    high = points @ normal - least
    kept = []
    for i, b in enumerate(points):
        if (high[i - 1] < 0) != (high[i] < 0):
            kept.append(points[i - 1] + (b - points[i - 1]) * high[i - 1] / (high[i - 1] - high[i]))
        if high[i] >= 0:
            kept.append(b)
    return np.array(kept)


def cross(o, a, b):
    return (a[0] - o[0]) * (b[1] - o[1]) - (a[1] - o[1]) * (b[0] - o[0])


# Which of the seven bars of a stencilled figure are cut: top, upper left, upper right, middle, lower left, lower right, bottom.
BARS = ["1110111", "0010010", "1011101", "1011011", "0111010", "1101011", "1101111", "1010010", "1111111", "1111011"]


class Face:
    """A flat side of something: points (a, b) in inches from `origin` along `across` and `up`."""

    def __init__(self, board, origin, across, up):
        self.board = board
        self.origin, self.across, self.up = (np.array(v, float) for v in (origin, across, up))

    def visible(self):
        return (self.board.camera.eye - self.origin) @ np.cross(self.across, self.up) > 0

    def at(self, points, lift=0):
        """World points; `lift` is how far they stand off the face."""
        off = np.cross(self.across, self.up) * lift
        return [self.origin + a * self.across + b * self.up + off for a, b in points]

    def poly(self, points, colour, lift=0):
        self.board.poly(self.at(points, lift), colour)

    def rect(self, a0, b0, a1, b1, colour):
        self.poly([(a0, b0), (a1, b0), (a1, b1), (a0, b1)], colour)

    def line(self, points, width, colour):
        """A line of `width` inches."""
        points = np.array(points, float)
        for p, q in zip(points, points[1:]):
            side = (q - p)[::-1] * [-1, 1] / max(np.linalg.norm(q - p), 1e-9) * width / 2
            self.poly([p + side, q + side, q - side, p - side], colour)

    def disc(self, a, b, radius, colour):
        turns = np.linspace(0, 2 * np.pi, 12, endpoint=False)
        self.poly([(a + radius * np.cos(t), b + radius * np.sin(t)) for t in turns], colour)

    def rivets(self, a0, b0, a1, b1, pitch, colour, radius=0.22):
        """A row of rivet heads with a dark rim; left out where they would be less than a pixel."""
        count = max(int(np.hypot(a1 - a0, b1 - b0) / pitch), 1)
        for share in np.linspace(0, 1, count + 1):
            a, b = a0 + (a1 - a0) * share, b0 + (b1 - b0) * share
            seen = self.board.camera.pixels(self.at([(a, b), (a + radius, b), (a, b + radius)]))
            if len(seen) == 3 and np.ptp(seen, axis=0).max() > 2.2:
                self.disc(a, b, radius * 1.35, tuple(int(c * 0.72) for c in colour))
                self.disc(a - radius * 0.15, b + radius * 0.15, radius, colour)

    def number(self, text, a, b, height, colour):
        """Stencilled figures, their left lower corner at (a, b)."""
        wide, thick = height * 0.55, height * 0.15
        half = height / 2
        for place, figure in enumerate(text):
            # A 1 has bars on its right only: it moves up to the figure before it.
            a -= (wide - thick) * 0.7 if figure == "1" and place else 0
            spots = [
                (a, b + height - thick, a + wide, b + height),
                (a, b + half, a + thick, b + height),
                (a + wide - thick, b + half, a + wide, b + height),
                (a, b + half - thick / 2, a + wide, b + half + thick / 2),
                (a, b, a + thick, b + half),
                (a + wide - thick, b, a + wide, b + half),
                (a, b, a + wide, b + thick),
            ]
            for cut, spot in zip(BARS[int(figure)], spots):
                if cut == "1":
                    self.rect(*spot, colour)
            a += wide + thick * 1.6


def jagged(points, rng, size, step):
    """A torn outline: each edge broken into steps of about `step`, each corner moved by up to `size`."""
    torn = []
    for i, (a, b) in enumerate(points):
        c, d = points[(i + 1) % len(points)]
        count = max(int(np.hypot(c - a, d - b) / step), 1)
        for share in np.arange(count) / count:
            torn.append((a + (c - a) * share + rng.uniform(-size, size), b + (d - b) * share + rng.uniform(-size, size)))
    return torn
