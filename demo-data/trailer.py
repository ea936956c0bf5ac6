"""An invented 53 ft dry van in an invented yard, outside and inside, drawn on a Board. Common sizes, from memory.

`marks` is a dictionary from a face's name to a function that draws damage or repairs on that face.
"""

import numpy as np

from drawing import Face

LONG, WIDE, BASE, TOP = 636, 102, 46, 162
HALF = WIDE / 2
BLUE = (11, 61, 145)
SHEET, ROOF, RAIL, DARK = (226, 230, 233), (206, 211, 215), (170, 176, 181), (28, 30, 34)
RUBBER, HUB, STEEL = (38, 39, 42), (150, 154, 158), (88, 94, 100)
RED, WHITE, AMBER = (196, 40, 44), (244, 244, 240), (228, 150, 40)
PLY, PLY_LINE, SCUFF = (198, 168, 126), (158, 130, 94), (146, 150, 152)


def station(a):
    """Along a curbside face, whose left end is the rear."""
    return LONG - a


def yard(board, sky=(178, 205, 226)):
    """Sky in flat bands, a shed and a fence far off, concrete with the lines of the slots."""
    x, y, _ = board.camera.eye
    far = 9000
    for band in range(24):
        low, high = band * 260 - 300, band * 260 - 40
        shade = tuple(int(c + (244 - c) * max(0, 1 - band / 16)) for c in sky)
        ring = [(x + far * np.cos(t), y + far * np.sin(t)) for t in np.linspace(0, 2 * np.pi, 13)]
        for p, q in zip(ring, ring[1:]):
            board.poly([(*p, low), (*q, low), (*q, 9e4 if band == 23 else high), (*p, 9e4 if band == 23 else high)], shade)
    ground = Face(board, (0, 0, 0), (1, 0, 0), (0, 1, 0))
    for a in range(-9000, 9000, 600):
        for b in range(-9000, 9000, 600):
            ground.rect(a, b, a + 600, b + 600, (139, 141, 140))
    for side in (-1, 1):
        wall = side * 2600
        board.poly([(-6000, wall, 0), (6000, wall, 0), (6000, wall, 260), (-6000, wall, 260)], (158, 170, 180))
        board.poly([(-6000, wall, 232), (6000, wall, 232), (6000, wall, 260), (-6000, wall, 260)], (120, 134, 148))
        for door in range(-5600, 5600, 420):
            board.poly([(door, wall, 0), (door + 140, wall, 0), (door + 140, wall, 150), (door, wall, 150)], (104, 116, 128))
    for end in (-5200, 5200):
        board.poly([(end, -2600, 0), (end, 2600, 0), (end, 2600, 70), (end, -2600, 70)], (128, 138, 132))
    for slot in (-500, -250, 250, 500):
        ground.rect(-160, slot - 2, LONG + 40, slot + 2, (212, 212, 204))
    ground.poly([(-10, -64), (LONG + 14, -64), (LONG + 14, 64), (-10, 64)], (104, 106, 107))


def under(board):
    """Wheels, landing gear, beams and rear guard, the far ones first."""
    near = -1 if board.camera.eye[1] < 0 else 1
    board.box((8, -HALF + 6, 38), (LONG - 6, HALF - 6, BASE), STEEL)
    for side in (-near, near):
        for axle in (506, 556):
            wheel(board, axle, side)
        board.box((112, side * 34 - 4, 8), (122, side * 34 + 4, BASE), STEEL)
        board.box((106, side * 34 - 8, 0), (128, side * 34 + 8, 3), (70, 74, 78))
        board.box((LONG - 12, side * 30 - 3, 22), (LONG - 6, side * 30 + 3, BASE), STEEL)
    board.box((LONG - 12, -48, 17), (LONG - 6, 48, 22), STEEL)
    guard = Face(board, (LONG - 6, -48, 17), (0, 1, 0), (0, 0, 1))
    if guard.visible():
        for piece in range(8):
            guard.rect(piece * 12, 1, piece * 12 + 12, 3.5, RED if piece % 2 else WHITE)


def wheel(board, axle, side):
    turns = np.linspace(0, 2 * np.pi, 28, endpoint=False)

    def rim(radius, y):
        return [(axle + radius * np.cos(t), y, 20 + radius * np.sin(t)) for t in turns]

    outside = side * (HALF - 1)
    board.hull(rim(20, outside) + rim(20, side * 28), RUBBER)
    board.poly(rim(20, outside), (46, 47, 50))
    board.poly(rim(11.5, outside), HUB)
    board.poly(rim(4.5, outside), (108, 112, 116))


def side(face, at, unit):
    """A side: sheets lapped on posts, rails, stripe, number, sheeting, lamps."""
    face.rect(0, 0, LONG, TOP - BASE, SHEET)
    for joint in range(48, LONG, 48):
        face.rect(at(joint) - 0.5, 7, at(joint) + 0.5, 111, (178, 184, 188))
        face.rivets(at(joint) - 1.2, 8, at(joint) - 1.2, 110, 3, (206, 210, 213))
    for post in range(16, LONG, 16):
        if post % 48:
            face.rivets(at(post), 8, at(post), 110, 6, (206, 210, 213))
    face.rect(0, 111, LONG, TOP - BASE, RAIL)
    face.rect(0, 0, LONG, 7, RAIL)
    face.rivets(2, 113.5, LONG - 2, 113.5, 4, (196, 201, 205))
    face.rivets(2, 5, LONG - 2, 5, 4, (196, 201, 205))
    face.rect(0, 24, LONG, 27, BLUE)
    for place in (40, 548):
        left = at(place) if at(place) < at(place + 1) else at(place + 44)
        face.number(unit, left, 82, 17, BLUE)
    for piece in range(12, LONG - 12, 36):
        for start, colour in ((piece, RED), (piece + 12, WHITE)):
            face.rect(min(at(start), at(start + 12)), 1.2, max(at(start), at(start + 12)), 3.4, colour)
    for lamp in (20, LONG / 2, LONG - 20):
        face.disc(at(lamp), 9.2, 1.6, AMBER)


def nose(face, unit):
    face.rect(0, 0, WIDE, TOP - BASE, (214, 219, 223))
    for joint in (34, 68):
        face.rect(joint - 0.5, 6, joint + 0.5, 110, (176, 181, 186))
        face.rivets(joint + 1.4, 7, joint + 1.4, 109, 3, (198, 203, 207))
    for corner in (0, WIDE - 5):
        face.rect(corner, 0, corner + 5, TOP - BASE, RAIL)
    face.rect(0, 110, WIDE, TOP - BASE, RAIL)
    face.rect(0, 0, WIDE, 6, RAIL)
    face.rivets(3, 113, WIDE - 3, 113, 4, (196, 201, 205))
    face.number(unit, 31, 62, 14, BLUE)
    face.rect(38, 12, 64, 30, STEEL)
    for plug, colour in ((44, BLUE), (51, (60, 60, 62)), (58, RED)):
        face.disc(plug, 21, 2.4, colour)
    for lamp in (14, WIDE - 14):
        face.disc(lamp, 107, 1.5, AMBER)


def rear(face, unit):
    """Frame, header, two doors with rods, hinges and handles, lamps, sheeting."""
    face.rect(0, 0, WIDE, TOP - BASE, RAIL)
    for left in (5, 51.5):
        face.rect(left, 4, left + 45.5, 105, (232, 235, 237))
        for rod in (left + 14, left + 31):
            face.rect(rod - 0.8, 2, rod + 0.8, 107, (138, 144, 150))
            face.rect(rod - 2, 1, rod + 2, 4, STEEL)
            face.rect(rod - 2, 105, rod + 2, 108, STEEL)
            face.rect(rod - 1, 38, rod + 11, 40.5, STEEL)
        for hinge in (14, 40, 66, 92):
            post = 2 if left < 50 else 94
            face.rect(post, hinge, post + 6, hinge + 4, STEEL)
    face.rect(50.6, 4, 51.4, 105, (96, 102, 108))
    face.number(unit, 7, 86, 9, BLUE)
    for lamp in (-6, 0, 6):
        face.disc(51 + lamp * 1.6, 111.5, 1.4, RED)
    for corner in (0.6, WIDE - 12.6):
        face.rect(corner, 112.6, corner + 12, 114.6, WHITE)
    for post in (0.6, WIDE - 2.6):
        face.rect(post, 102.6, post + 2, 114.6, WHITE)
    for piece in range(8):
        face.rect(3 + piece * 12, 0.8, 15 + piece * 12, 2.8, RED if piece % 2 else WHITE)
    for lamp in (8, 15, WIDE - 15, WIDE - 8):
        face.disc(lamp, -4, 2.6, RED)


def roof(face):
    """The sheet, bows showing through as faint lines, rivets along the rails."""
    face.rect(0, 0, LONG, WIDE, ROOF)
    for bow in range(24, LONG, 24):
        face.rect(bow, 2, bow + 1.5, WIDE - 2, (195, 200, 204))
    face.rect(0, 0, LONG, 2.4, RAIL)
    face.rect(0, WIDE - 2.4, LONG, WIDE, RAIL)
    face.rect(0, 0, 2.4, WIDE, RAIL)
    face.rect(LONG - 5, 0, LONG, WIDE, RAIL)
    for b in (1.2, WIDE - 1.2):
        face.rivets(4, b, LONG - 6, b, 4, (198, 203, 207))
    face.rivets(1.2, 3, 1.2, WIDE - 3, 4, (198, 203, 207))


def outside(board, unit, marks, sky=(178, 205, 226)):
    """The whole unit in the yard."""
    yard(board, sky)
    under(board)
    if "above" in marks and board.camera.eye[2] < TOP:
        marks["above"](board)
    faces = {
        "roadside": (Face(board, (0, -HALF, BASE), (1, 0, 0), (0, 0, 1)), lambda f: side(f, lambda s: s, unit)),
        "curbside": (Face(board, (LONG, HALF, BASE), (-1, 0, 0), (0, 0, 1)), lambda f: side(f, station, unit)),
        "nose": (Face(board, (0, HALF, BASE), (0, -1, 0), (0, 0, 1)), lambda f: nose(f, unit)),
        "rear": (Face(board, (LONG, -HALF, BASE), (0, 1, 0), (0, 0, 1)), lambda f: rear(f, unit)),
        "roof": (Face(board, (0, -HALF, TOP), (1, 0, 0), (0, 1, 0)), roof),
    }
    for name, (face, draw) in faces.items():
        if face.visible():
            draw(face)
            marks.get(name, lambda _: None)(face)
    if "above" in marks and board.camera.eye[2] >= TOP:
        marks["above"](board)


def inside(board, marks, light=1.0):
    """The cargo space, seen from the rear towards the nose; `marks` may hold ceiling, bows and wall."""

    def lit(colour):
        return tuple(int(c * light) for c in colour)

    half, low, high = 49, 50, 160
    wall_nose = Face(board, (4, -half, low), (0, 1, 0), (0, 0, 1))
    wall_nose.rect(0, 0, 98, high - low, lit((176, 148, 110)))
    for joint in (32.6, 65.3):
        wall_nose.rect(joint - 0.4, 0, joint + 0.4, high - low, lit(PLY_LINE))
    floor = Face(board, (0, -half, low), (1, 0, 0), (0, 1, 0))
    for plank in range(14):
        floor.rect(4, plank * 7, LONG, plank * 7 + 7, lit((142, 108, 74) if plank % 2 else (134, 100, 68)))
    ceiling = Face(board, (0, half, high), (1, 0, 0), (0, -1, 0))
    ceiling.rect(4, 0, LONG, 98, lit((188, 193, 197)))
    marks.get("ceiling", lambda _: None)(ceiling)
    for flank, at in ((-1, station), (1, lambda s: s)):
        wall = Face(board, (LONG if flank < 0 else 0, flank * half, low), (flank, 0, 0), (0, 0, 1))
        wall.rect(0, 0, LONG - 4 if flank < 0 else LONG, high - low, lit(PLY))
        wall.rect(0, 0, LONG, 12, lit(SCUFF))
        wall.rect(0, 100, LONG, 110, lit(RAIL))
        for joint in range(48, LONG, 48):
            wall.rect(at(joint) - 0.4, 12, at(joint) + 0.4, 100, lit(PLY_LINE))
            wall.rivets(at(joint) + 1.5, 14, at(joint) + 1.5, 98, 8, lit((180, 152, 112)), 0.4)
        if flank < 0:
            marks.get("wall", lambda _: None)(wall)
    sag = marks.get("bows", lambda bow: 0)
    for bow in range(1, 27):
        drop, x = sag(bow), bow * 24
        if drop is None:
            continue
        for y in range(-49, 49, 7):
            low_a, low_b = (high - 2 - drop * np.cos(v / 49 * np.pi / 2) ** 2 for v in (y, y + 7))
            board.poly([(x, y, low_a), (x, y + 7, low_b), (x, y + 7, low_b + 2), (x, y, low_a + 2)], lit((132, 138, 144)))
            board.poly([(x, y, low_a), (x, y + 7, low_b), (x + 1.5, y + 7, low_b), (x + 1.5, y, low_a)], lit((110, 116, 122)))
