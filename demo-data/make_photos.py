"""Draws the photos of the demo yard. Needs Python 3.11 with Pillow and numpy from PyPI; run it from anywhere:

    python3 -m venv .venv && .venv/bin/pip install pillow numpy && .venv/bin/python demo-data/make_photos.py [NAME...]

Everything is invented: yard, units, damage, camera, times. Photos are 12 megapixel JPEGs with EXIF as a phone writes
it, turned in various ways; photos.json lists them. Where a card of ID-1 size (85.60 x 53.98 mm, ISO/IEC 7810) lies in
the picture, the list has the pixels of its corners in the upright photo, so that measuring in a photo can be tried.
"""

import json
import sys
from pathlib import Path

import numpy as np
from PIL import Image

sys.dont_write_bytecode = True  # no cache folder in the project

import trailer
from drawing import Board, Camera, jagged
from trailer import BLUE, DARK, HALF, LONG, STEEL, TOP, WIDE, station

HERE = Path(__file__).parent
CARD = (85.60 / 25.4, 53.98 / 25.4)
GLOOM, BENT, SCAR, RUST, SEAL = (52, 55, 60), (150, 156, 161), (168, 174, 180), (150, 92, 52), (60, 63, 68)


def tear(face, outline, seed, size, bows=()):
    """An open tear: dark inside with the bows across it, edges bent up and down around it."""
    rng = np.random.default_rng(seed)
    edge = jagged(outline, rng, size, size * 3)
    middle = np.mean(edge, axis=0)
    face.poly([middle + (np.array(p) - middle) * 1.05 for p in edge], BENT)
    face.poly(edge, DARK)
    for bow, low, high in bows:
        face.rect(bow, low, bow + 1.5, high, STEEL)
    for i, p in enumerate(edge):
        q = np.array(edge[(i + 1) % len(edge)])
        p = np.array(p)
        tip = (p + q) / 2 + (middle - p) / max(np.linalg.norm(middle - p), 1) * rng.uniform(-0.5, 1.6) * size
        face.poly([p, q, tip], (236, 239, 241) if i % 3 else (142, 148, 153))


def creases(face, at, seed, count, length):
    """Creases running out from a point, one flank in the light and one in the shade."""
    rng = np.random.default_rng(seed)
    for turn in np.linspace(0, 2 * np.pi, count, endpoint=False) + rng.uniform(-0.2, 0.2, count):
        far = np.array(at) + np.array([np.cos(turn), np.sin(turn)]) * length * rng.uniform(0.6, 1.2)
        near = np.array(at, float)
        across = (far - near)[::-1] * [-1, 1] * 0.06
        face.poly([near - across, near, far], SCAR)
        face.poly([near + across, near, far], (240, 243, 245))


def hole(face, at, size, seed, spokes=7):
    """A small hole with its dent."""
    a, b = at
    creases(face, at, seed, spokes, size[0] * 1.4)
    tear(face, [(a - size[0] / 2, b - size[1] / 2), (a + size[0] / 2, b - size[1] * 0.4),
                (a + size[0] * 0.45, b + size[1] / 2), (a - size[0] * 0.4, b + size[1] * 0.45)], seed, size[0] * 0.07)


def card(face, a, b):
    """A plain blue card taped beside the damage, to measure by; remembers its corners for photos.json."""
    corners = [(a, b), (a + CARD[0], b), (a + CARD[0], b + CARD[1]), (a, b + CARD[1])]
    face.poly(corners, BLUE)
    face.rect(a + 0.25, b + 0.25, a + CARD[0] - 0.25, b + CARD[1] - 0.25, (222, 230, 244))
    face.board.card = [[round(float(v), 1) for v in p] for p in face.board.camera.pixels(face.at(corners))]


# Unit 4417: the front of the roof torn open under a low bridge, stations 3 to 149.
TORN = [(3, 20), (30, 14), (70, 22), (108, 18), (149, 44), (132, 62), (96, 88), (44, 84), (3, 78)]


def torn_roof(face):
    creases(face, (149, 44), 5, 9, 20)
    tear(face, TORN, 4417, 3.2, [(24 * n, 20 + 2 * n, 82 - 4 * n) for n in (3, 4, 5)])
    bent = [(22, 26), (30, 40), (26, 52), (34, 64), (27, 78)]
    face.line(bent, 2, STEEL)
    face.line([(a + 25, b) for a, b in bent], 2, STEEL)


def torn_flaps(board):
    """What stands up above the roof: sheet peeled back, seen from the ground too."""
    flaps = [((20, -30), (66, -34), (52, -20, 24), (214, 218, 221)), ((60, -28), (112, -30), (104, -12, 15), (190, 195, 199)),
             ((30, 36), (84, 38), (74, 22, 21), (200, 205, 209)), ((96, 30), (136, 12), (132, 26, 11), (222, 226, 229))]
    for p, q, tip, colour in flaps:
        x, y, up = tip
        board.poly([(*p, TOP), (*q, TOP), (x + 8, y, TOP + up * 0.8), (x - 6, y + 2, TOP + up)], colour)
        board.poly([(*q, TOP), (x + 8, y, TOP + up * 0.8), (x - 6, y + 2, TOP + up), (x + 4, y + 4, TOP + up * 0.6)], BENT)


def bent_nose_rail(face):
    """The nose rail pushed down and back between 28 and 74 in from the curbside corner."""
    dip = [(22, 113), (34, 111), (44, 104.5), (54, 101.5), (62, 105), (72, 111.5), (80, 113)]
    face.poly([(22, 116.2), *dip, (80, 116.2)], DARK)
    creases(face, (53, 97), 11, 11, 13)
    for shift, width, colour in ((0, 5.2, (150, 156, 161)), (1.3, 1.2, (202, 207, 211)), (-2.2, 0.8, (96, 102, 108))):
        face.line([(a, b + shift) for a, b in dip], width, colour)
    face.poly([(50, 102), (53, 106), (55, 99), (58, 103.5), (57, 98.5), (52, 98)], DARK)


def side_hole(face):
    """Curbside, stations 120 to 131, 40 to 52 in above the bottom rail."""
    hole(face, (station(125.5), 46), (11, 12), 120)


FRONT = {"roof": torn_roof, "above": torn_flaps, "nose": bent_nose_rail, "curbside": side_hole}


def ceiling_torn(face):
    rng = np.random.default_rng(44)
    outline = jagged([(a, 98 - b) for a, b in TORN], rng, 2.5, 9)
    middle = np.mean(outline, axis=0)
    face.poly([middle + (np.array(p) - middle) * 1.06 for p in outline], (132, 138, 143))
    face.poly(outline, (196, 220, 238))


def small_hole(face):
    hole(face, (station(402), 62), (4, 3), 2093, 6)


def sealed(face):
    """A numbered seal through the handle of the right-hand door."""
    face.line([(75, 38.5), (73.5, 34), (76, 30.5)], 0.5, (210, 180, 40))
    face.rect(72.5, 26.5, 79.5, 31, (214, 184, 44))
    face.number("5821", 73.0, 27.8, 2, (40, 40, 40))


def bent_header(face):
    """Rear header struck from below, cracked beside the lamps."""
    dip = [(60, 112), (68, 109.5), (75, 105.5), (80, 104), (86, 107), (93, 112)]
    face.poly([(60, 116), *dip, (93, 116)], GLOOM)
    face.line(dip, 5.5, (148, 154, 159))
    face.line([(a, b + 1.6) for a, b in dip], 1, (206, 211, 215))
    face.line([(a, b - 2.4) for a, b in dip], 0.8, (90, 96, 102))
    face.line([(79, 107), (80.5, 104.6), (79.6, 103), (81.4, 100.8)], 0.7, DARK)


def roof_split(face):
    creases(face, (38, 50), 7, 8, 16)
    tear(face, [(12, 40), (58, 34), (64, 44), (40, 62), (14, 58)], 5026, 2.2, [(24, 38, 60), (48, 38, 56)])


def new_front(face):
    """A front section with its seam on the bow at station 96: new sheet to the nose, sealant, rivets a side."""
    face.rect(2.4, 2.4, 98, WIDE - 2.4, (228, 232, 235))
    for bow in (24, 48, 72, 96):
        face.rect(bow, 3, bow + 1.5, WIDE - 3, (216, 221, 225))
    face.rect(97.4, 1, 98.4, WIDE - 1, SEAL)
    for b in (1.2, WIDE - 1.2):
        face.rivets(4, b, 98, b, 4, (244, 246, 248), 0.5)
        face.rect(95, b - 0.9, 101, b + 0.9, SEAL)
        face.rivets(95.6, b, 100.4, b, 2.4, (244, 246, 248), 0.5)


def side_gash(face):
    creases(face, (452, 34), 8, 10, 18)
    tear(face, [(434, 30), (462, 26), (474, 33), (456, 42), (437, 40)], 526, 1.6)


def side_patch(face):
    """A patch carried to the posts at 432 and 480, two rows of rivets all round."""
    a0, b0, a1, b1 = 430.5, 20, 481.5, 50
    face.rect(a0 - 0.4, b0 - 0.4, a1 + 0.4, b1 + 0.4, SEAL)
    face.rect(a0, b0, a1, b1, (238, 241, 243))
    for inset in (0.8, 2.2):
        for p, q in (((a0, b0), (a1, b0)), ((a1, b0), (a1, b1)), ((a1, b1), (a0, b1)), ((a0, b1), (a0, b0))):
            inner = [np.clip(v, (a0 + inset, b0 + inset), (a1 - inset, b1 - inset)) for v in (p, q)]
            face.rivets(*inner[0], *inner[1], 1.5, (206, 211, 215), 0.3)
    face.rect(a0, 24, a1, 27, BLUE)


def roof_hole(face):
    hole(face, (318, 38), (5, 4), 6071, 8)


def old_leak(face):
    """An old patch with cracked sealant and rust stains, on the roof."""
    rng = np.random.default_rng(7712)
    for spot in ((236, 60), (262, 70), (247, 46)):
        face.poly(jagged([(spot[0] - 5, spot[1] - 3), (spot[0] + 6, spot[1] - 2), (spot[0] + 4, spot[1] + 4), (spot[0] - 4, spot[1] + 3)], rng, 1, 2), RUST)
    face.poly(jagged([(234, 44), (266, 44), (266, 68), (234, 68)], rng, 1, 3), SEAL)
    face.rect(236, 46, 264, 66, (184, 189, 192))
    for b in (47.4, 64.6):
        face.rivets(237.5, b, 262.5, b, 1.8, (164, 150, 138), 0.35)
    for start in ((236, 52), (264, 60), (250, 66)):
        face.line([start, *(np.array(start) + rng.uniform(-3, 3, 2) for _ in range(4))], 0.35, DARK)
    creases(face, (258, 66), 9, 5, 9)


def stains(face):
    rng = np.random.default_rng(12)
    for at in ((250, 46), (262, 30), (236, 60)):
        for reach, colour in ((16, (166, 158, 140)), (11, (148, 132, 106)), (6, (122, 98, 70))):
            ring = [(at[0] + reach * np.cos(t), at[1] + reach * np.sin(t)) for t in np.linspace(0, 2 * np.pi, 9)[:-1]]
            face.poly(jagged(ring, rng, reach * 0.15, reach * 0.6), colour)


def runs(face):
    """Water run down the lining below the leak."""
    rng = np.random.default_rng(13)
    for a in range(station(280), station(226), 5):
        low = rng.uniform(20, 70)
        face.poly([(a, 100), (a + 5.4, 100), (a + 3.6, low), (a + 1.8, low)], (150, 118, 80))
        face.poly([(a + 1.6, 100), (a + 3.6, 100), (a + 2.6, low + 16)], (112, 84, 56))


def bow_sag(bow):
    return {1: None, 2: 17, 3: 21, 4: 11, 5: 5}.get(bow, 0)


def out(name, shows, eye, target, marks, view=65, turn=1, when="before", sky=(178, 205, 226), with_card=None):
    return {"name": name, "shows": shows, "when": when, "turn": turn, "sky": sky, "card": with_card, "marks": marks,
            "camera": (eye, target, view, turn in (6, 8))}


def within(name, shows, eye, target, marks, light, turn=1, view=75):
    return out(name, shows, eye, target, marks, view, turn) | {"light": light}


GREY, EVENING = (186, 192, 198), (214, 190, 170)
BEFORE, AFTER = {"roof": roof_split, "roadside": side_gash}, {"roof": new_front, "roadside": side_patch}
SHOTS = [
    out("4417-nose-roadside", "Corner nose and roadside: nose rail bent, roof peeled up", (-230, -250, 68), (120, -20, 92), FRONT),
    out("4417-nose-curbside", "Corner nose and curbside: nose rail bent, hole in the side", (-200, 260, 68), (120, 20, 92), FRONT, turn=3),
    out("4417-rear-roadside", "Corner rear and roadside: no damage seen", (880, -270, 68), (500, -20, 88), FRONT),
    out("4417-rear-curbside", "Corner rear and curbside: no damage seen", (880, 270, 68), (500, 20, 88), FRONT),
    out("4417-roof-tear", "Roof torn open from the nose to station 149, from a lift", (-110, -120, 330), (92, 4, 150), FRONT),
    out("4417-nose-rail", "Nose rail bent down and back, cracked", (-95, 18, 168), (0, -2, 148), FRONT, view=60, turn=3),
    out("4417-side-hole", "Curbside hole, stations 120 to 131, with a card to measure by", (118, 104, 94), (124, HALF, 92), FRONT, view=46, turn=6, with_card=("curbside", station(137), 43)),
    within("4417-bows-inside", "From inside: bows 1 to 5 gone or bent, sky through the roof", (262, 6, 100), (80, -3, 134), {"ceiling": ceiling_torn, "bows": bow_sag}, 0.86),
    out("2093-curbside", "Curbside with a small hole near station 402", (350, 300, 66), (400, HALF, 96), {"curbside": small_hole}, sky=GREY),
    out("2093-side-hole", "Small hole at station 402 with a card to measure by", (398, 76, 108), (401, HALF, 108), {"curbside": small_hole}, view=50, turn=8, sky=GREY, with_card=("curbside", station(398), 59.5)),
    out("3350-nose-curbside", "Outside, nose and curbside; loaded and sealed, the inside is not seen", (-240, 240, 66), (110, 20, 92), {}, sky=EVENING),
    out("3350-rear", "Rear doors closed and sealed", (900, 40, 66), (LONG, 0, 92), {"rear": sealed}, turn=3, sky=EVENING),
    out("3350-seal", "Seal on the curbside door", (676, 22, 78), (LONG, 24, 77), {"rear": sealed}, view=45, turn=6, sky=EVENING),
    out("1188-rear", "Rear: header bent above the curbside door", (860, 90, 70), (LONG, 4, 98), {"rear": bent_header}),
    out("1188-rear-header", "Rear header bent down and cracked beside the lamps", (698, 22, 150), (LONG, 24, 152), {"rear": bent_header}, view=58),
    out("5026-roof-before", "Roof split from station 12 to 64, from a lift", (-90, -110, 290), (58, 4, 158), BEFORE, sky=GREY),
    out("5026-roof-after", "Front section fitted, seam on the bow at station 96", (-90, -110, 290), (58, 4, 158), AFTER, when="after"),
    out("5026-side-before", "Roadside gash, stations 434 to 474", (440, -150, 84), (456, -HALF, 82), BEFORE, sky=GREY),
    out("5026-side-after", "Roadside patch carried to the posts, two rows of rivets", (440, -150, 84), (456, -HALF, 82), AFTER, when="after", turn=3),
    out("6071-roof", "Roof from a lift: small hole near station 318", (230, -170, 300), (322, -8, TOP), {"roof": roof_hole}),
    out("6071-roof-hole", "Small hole in the roof with a card to measure by", (314, -34, 206), (319, -12, TOP), {"roof": roof_hole}, view=50, turn=8, with_card=("roof", 314.5, 43)),
    out("7712-roof-patch", "Old roof patch: sealant cracked, rust, from a lift", (220, -84, 228), (250, 2, TOP), {"roof": old_leak}, sky=GREY),
    within("7712-lining", "From inside: water-stained lining and roof below the old patch", (372, 26, 100), (240, -26, 122), {"ceiling": stains, "wall": runs}, 0.72, turn=6),
]


def make(shot, minute):
    board = Board(Camera(*shot["camera"]))
    marks = dict(shot["marks"])
    if shot["card"]:
        name, a, b = shot["card"]
        damage = marks[name]
        marks[name] = lambda face: (damage(face), card(face, a, b))
    unit = shot["name"][:4]
    if "light" in shot:
        trailer.inside(board, marks, shot["light"])
    else:
        trailer.outside(board, unit, marks, shot["sky"])
    image = board.photo()
    turns = {3: Image.ROTATE_180, 6: Image.ROTATE_90, 8: Image.ROTATE_270}
    if shot["turn"] in turns:
        image = image.transpose(turns[shot["turn"]])
    exif = image.getexif()
    exif[0x010F], exif[0x0110], exif[0x0112] = "Demo", "Demo camera", shot["turn"]
    day = 9 if shot["when"] == "after" else 3
    exif.get_ifd(0x8769).update({0x9003: f"2026:03:{day:02} {9 + minute // 60:02}:{minute % 60:02}:00", 0x9011: "-06:00"})
    path = HERE / "photos" / f"{shot['name']}.jpg"
    image.save(path, quality=65, optimize=True, exif=exif)
    entry = {"file": f"photos/{path.name}", "unit": unit, "shows": shot["shows"], "when": shot["when"]}
    if shot["card"]:
        entry["card_px"] = board.card
    print(f"{path.name} {path.stat().st_size // 1000} kB", flush=True)
    return entry


def main():
    (HERE / "photos").mkdir(exist_ok=True)
    wanted = sys.argv[1:]
    entries = [make(shot, 7 * n) for n, shot in enumerate(SHOTS) if not wanted or shot["name"] in wanted]
    if not wanted:
        (HERE / "photos.json").write_text(json.dumps(entries, indent=2, ensure_ascii=False) + "\n")


if __name__ == "__main__":
    main()
