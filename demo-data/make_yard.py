#!/usr/bin/env python3
"""Writes stock.json, what lies on the shelves, and yard.json: the acts by which an invented fleet came to where it
stands, in order, one a line.

Each act is an ask of a person at the phone ("by") or at the office ("office"). "as" names the id that the answer
brings, "bind" other fields of it; "$name" in a later act stands for it. "photo" is a file of photos/ that goes with the
ask. "all_steps" does every step that is left, with the wanted values. Units, people and stories are invented.
"""
import json
import pathlib

INSPECTOR, TECHNICIAN, SECOND, SUPERVISOR = "I. Quill", "T. Marrow", "D. Sorrel", "S. Fennick"
acts = []


def act(who, kind, at="by", **fields):
    extra = {k: fields.pop(k) for k in ("as_", "bind", "photo") if k in fields}
    acts.append({at: who, "ask": {"kind": kind, **fields}, **{k.rstrip("_"): v for k, v in extra.items()}})


def unit(number, by, vin, fields, seen=()):
    act(by, "open_job", unit=number, as_=f"j{number}")
    job = f"$j{number}"
    for field, value in {"body_type": "dry_van_53", "vin": vin, **fields}.items():
        act(by, "set_arrival", job=job, field=field, value=value)
    for surface in seen:
        act(by, "set_looked", job=job, surface=surface, seen=True)
    return job


def photo(by, job, file, of=None, when="before"):
    act(by, "add_photo", job=job, of=of or {"of": "unit"}, when=when, name=file, photo=file)


def mark(by, job, name, surface, where, damage, part, age="new", note=""):
    place = dict(zip(("from", "to", "low", "high"), where))
    act(by, "add_mark", job=job, place={"surface": surface, **place}, damage=damage, part=part, age=age, note=note, found=None, as_=name)
    return {"of": "mark", "id": f"${name}"}


def roll(by, job, answer, reason):
    """Answered once the damage is marked: what is marked later takes the answer away."""
    act(by, "set_roll", job=job, answer={"answer": answer, "reason": reason, "fix": "", "speed": "", "distance": "", "weather": ""})


def way(by, job, group, chosen, by_hand=None):
    act(by, "choose_way", job=job, group=group, way=chosen, by_hand=by_hand)


def hand(hours, people, lines, note=""):
    return {"hours": hours, "people": people, "note": note,
            "lines": [{"item": i, "quantity": q, "unit_price": p} for i, q, p in lines]}


def ask(by, job, name):
    act(by, "ask_go_ahead", job=job, found=None)
    act(by, "figures", job=job, bind={f"hash_{name}": "/hash"})


# 7712: an old roof leak; waits for dry weather.
job = unit("7712", TECHNICIAN, "1ZZV53200HB007712", {"built": "2017-03-14", "load": "empty", "slot": "row B, 4", "found_by": "wash crew"},
           ["roof", "inside_roadside"])
leak = mark(TECHNICIAN, job, "m7712", "roof", ("402", "409", "60", "66"), "leak", "roof_sheet", "old", "Old sealant has let go beside a bow.")
roll(TECHNICIAN, job, "may_roll", "Water stains only, nothing loose.")
photo(TECHNICIAN, job, "7712-roof-patch.jpg", leak)
photo(TECHNICIAN, job, "7712-lining.jpg")
act(TECHNICIAN, "set_hold", job=job, hold={"why": "weather", "note": "Needs a dry day for sealant."})

# 1188: rear header; the office sent the figures back.
job = unit("1188", TECHNICIAN, "1ZZV53204JB001188", {"built": "2018-09-02", "inspected": "2026-04-20", "load": "empty", "slot": "row A, 2",
           "found_by": "gate", "account": "Backed under a dock canopy.", "payer": "own account"},
           ["rear"])
header = mark(TECHNICIAN, job, "m1188", "rear", ("8", "61", "104", "110"), "bend", "rear_header")
roll(TECHNICIAN, job, "park_it", "The header hangs over the doors.")
photo(TECHNICIAN, job, "1188-rear.jpg")
photo(TECHNICIAN, job, "1188-rear-header.jpg", header)
way(TECHNICIAN, job, "$m1188", "by_hand", hand("6", 2, [("rear header, bolt-on", "1", "412.00"), ("rivets and sealant", "1", "38.50")], "Bolts on; no welding."))
ask(TECHNICIAN, job, "1188")
act(SUPERVISOR, "send_back", at="office", job=job, hash="$hash_1188", note="Does the maker take a splice here? Ask before the part is ordered.")

# 6071: a small hole in the roof, go-ahead given, work can start.
job = unit("6071", TECHNICIAN, "1ZZV53207PB006071", {"built": "2023-05-22", "inspected": "2026-02-11", "load": "empty", "slot": "bay 2", "found_by": "T. Marrow",
           "account": "A branch on a side road.", "payer": "own account", "placards": "none", "wiring": "tracker on the nose, none on the roof"},
           ["nose", "curbside", "rear", "roadside", "roof"])
hole = mark(TECHNICIAN, job, "m6071", "roof", ("251", "255", "40", "44"), "hole", "roof_sheet", "new", "Clean hole between two bows.")
roll(TECHNICIAN, job, "may_roll", "Small hole, covered with tape.")
photo(TECHNICIAN, job, "6071-roof.jpg")
photo(TECHNICIAN, job, "6071-roof-hole.jpg", hole)
way(TECHNICIAN, job, "roof", "patch")
ask(TECHNICIAN, job, "6071")
act(SUPERVISOR, "go_ahead", at="office", job=job, hash="$hash_6071", amount=None, note="")

# 5026: back from repair; sealed, the leak test and Proof are next when it has cured.
job = unit("5026", SECOND, "1ZZV53201NB005026", {"built": "2022-08-30", "inspected": "2026-06-03", "load": "empty", "slot": "bay 1", "found_by": "yard round",
           "order": "W-2210", "payer": "own account", "placards": "none", "wiring": "none seen"},
           ["nose", "curbside", "rear", "roadside", "roof"])
gash = mark(SECOND, job, "m5026", "roof", ("12", "71", "34", "62"), "tear", "roof_sheet")
side = mark(SECOND, job, "side5026", "roadside", ("434", "474", "70", "84"), "gouge", "side_sheet")
roll(SECOND, job, "park_it", "Edges of the hole are sharp.")
photo(SECOND, job, "5026-roof-before.jpg", gash)
photo(SECOND, job, "5026-side-before.jpg", side)
way(SECOND, job, "roof", "front_section")
way(SECOND, job, "$side5026", "by_hand", hand("2", 1, [("side sheet, .050 aluminium, sq ft", "3", "6.20"), ("solid rivets 3/16", "36", "0.18")], "Lapped patch over sound sheet."))
ask(SECOND, job, "5026")
act(SUPERVISOR, "go_ahead", at="office", job=job, hash="$hash_5026", amount=None, note="Before Friday, please.")
acts.append({"by": SECOND, "all_on_hand": job})
act(SECOND, "open_roof", job=job)
acts.append({"by": SECOND, "all_steps": job})
photo(SECOND, job, "5026-roof-after.jpg", gash, "after")
photo(SECOND, job, "5026-side-after.jpg", side, "after")

# 3350: sealed and loaded; the inside is not seen.
job = unit("3350", INSPECTOR, "1ZZV53204LB003350", {"built": "2020-01-17", "load": "sealed", "seal": "0481 773", "slot": "row C, 11", "found_by": "I. Quill",
           "account": "Driver says it was so at pick-up."},
           ["nose", "curbside", "rear", "roadside"])
gouge = mark(INSPECTOR, job, "m3350", "curbside", ("30", "69", "44", "58"), "gouge", "side_sheet", "not_known")
roll(INSPECTOR, job, "park_it", "Side sheet is open; cargo may be wet.")
photo(INSPECTOR, job, "3350-rear.jpg")
photo(INSPECTOR, job, "3350-nose-curbside.jpg", gouge)
photo(INSPECTOR, job, "3350-seal.jpg")

# 2093: a small hole in the curbside; the figures wait for the office.
job = unit("2093", TECHNICIAN, "1ZZV53203MB002093", {"built": "2021-11-09", "inspected": "2026-08-14", "load": "empty", "slot": "row A, 7", "found_by": "I. Quill",
           "payer": "own account"},
           ["curbside"])
hole = mark(INSPECTOR, job, "m2093", "curbside", ("120", "131", "40", "52"), "hole", "side_sheet")
roll(TECHNICIAN, job, "may_roll", "Small hole, no sharp edge stands out.")
photo(INSPECTOR, job, "2093-curbside.jpg")
photo(INSPECTOR, job, "2093-side-hole.jpg", hole)
way(TECHNICIAN, job, "$m2093", "by_hand", hand("2.5", 1, [("side sheet, .050 aluminium, sq ft", "4", "6.20"), ("solid rivets 3/16", "40", "0.18")], "Lapped patch over sound sheet."))
ask(TECHNICIAN, job, "2093")

# 4417: half a roof, nose rail, bows and a side hit; marked, to be figured.
job = unit("4417", INSPECTOR, "1ZZV53206KB004417", {"built": "2019-02-26", "inspected": "2026-01-30", "plate": "T 4417", "load": "empty", "slot": "row A, 1",
           "found_by": "I. Quill", "found_at": "2026-11-27", "account": "Low bridge, at walking pace.", "order": "W-2231", "payer": "insurer, claim not open yet",
           "placards": "none", "wiring": "marker lamps and harness at the nose"},
           ["nose", "curbside", "roadside", "roof"])
tear = mark(INSPECTOR, job, "roof4417", "roof", ("3", "149", "7", "95"), "tear", "roof_sheet", "new", "Sheet rolled back over six bows.")
rail = mark(INSPECTOR, job, "rail4417", "nose", ("0", "102", "104", "110"), "bend", "nose_rail")
side = mark(INSPECTOR, job, "side4417", "curbside", ("120", "132", "40", "51"), "hole", "side_sheet")
old = mark(INSPECTOR, job, "old4417", "roadside", ("480", "502", "6", "20"), "dent", "side_sheet", "old", "Known from the spring round.")
roll(INSPECTOR, job, "park_it", "Roof sheet is loose and can lift in the wind.")
for file, of in (("4417-nose-roadside.jpg", None), ("4417-nose-curbside.jpg", None), ("4417-rear-roadside.jpg", None), ("4417-rear-curbside.jpg", None),
                 ("4417-roof-tear.jpg", tear), ("4417-nose-rail.jpg", rail), ("4417-bows-inside.jpg", tear), ("4417-side-hole.jpg", side)):
    photo(INSPECTOR, job, file, of)

lines = ",\n".join(json.dumps(a, ensure_ascii=False) for a in acts)
pathlib.Path(__file__).with_name("yard.json").write_text(f"[\n{lines}\n]\n", encoding="utf-8")

INCH = 25_400_000  # nanometres, as the program keeps lengths


def stock(item, name, kind, length, width, thickness, place, count, price):
    return {"item": item, "name": name, "kind": kind, "length": round(length * INCH), "width": width and round(width * INCH),
            "thickness": thickness and round(thickness * INCH), "place": place, "count": count, "price": price}


shelves = [
    stock("roof sheet", "roof coil .040 x 104", "coil", 1272, 104, 0.040, "coil stand 1", 1, "4280.00"),
    stock("roof sheet", "drop .040, 15 ft", "drop", 180, 104, 0.040, "rack D, top", 1, None),
    stock("roof sheet", "drop .040, 3 ft", "drop", 36, 48, 0.040, "rack D, low", 2, None),
    stock("side sheet", "side sheet .050 x 49", "sheet", 120, 49, 0.050, "rack S", 3, "142.00"),
    stock("roof bow", "roof bow 102, steel", "bar", 102, None, None, "rack B, 2", 5, "46.50"),
    stock("front roof bow", "front roof bow 102", "bar", 102, None, None, "rack B, 3", 1, "88.00"),
    stock("nose rail", "nose rail 8 1/2 ft", "bar", 102, None, None, "rack B, 1", 1, "214.00"),
    stock("seam tape", "structural tape 1 in x 108 ft", "coil", 1296, None, None, "cabinet 3", 2, "64.00"),
    stock("foam tape", "foam tape 3/4 in x 50 ft", "coil", 600, None, None, "cabinet 3", 1, "18.40"),
]
rows = ",\n".join(json.dumps(row) for row in shelves)
pathlib.Path(__file__).with_name("stock.json").write_text(f"[\n{rows}\n]\n", encoding="utf-8")
