"""Whether a plan keeps the rules that `figure` documents, checked without any of our code: a list of faults."""
from fractions import Fraction as F

NEAR = F(1, 10**6)


def exact(number):
    return F(str(number))


def cents(text):
    return F(text)


def bars(given, out, read=exact):
    faults = []
    kerf, trim = read(given.get("kerf") or 0), read(given.get("end_trim") or 0)
    keep = None if given.get("keep_from") is None else read(given["keep_from"])
    pieces = {p["name"]: read(p["length"]) for p in given["pieces"]}
    stock = {s["name"]: s for s in given["stock"]}
    cut, used, cost, net = {}, {}, F(0), F(0)
    for plan in out["plans"]:
        length, price = read(stock[plan["stock"]]["length"]), F(stock[plan["stock"]]["price"])
        many = sum(c["count"] for c in plan["cuts"])
        sizes = sum(pieces[c["piece"]] * c["count"] for c in plan["cuts"])
        if many < 1 or plan["times"] < 1:
            faults.append(f"an empty plan: {plan}")
        if sizes + (many - 1) * kerf > length - trim:
            faults.append(f"too long for its bar: {plan}")
        left = max(F(0), length - trim - sizes - many * kerf)
        if abs(left - exact(plan["left"])) > NEAR:
            faults.append(f"left is {float(left)}: {plan}")
        drop = keep is not None and left >= keep
        for c in plan["cuts"]:
            cut[c["piece"]] = cut.get(c["piece"], 0) + c["count"] * plan["times"]
        used[plan["stock"]] = used.get(plan["stock"], 0) + plan["times"]
        cost += price * plan["times"]
        net += (price * (1 - left / length) if drop else price) * plan["times"]
    for p in given["pieces"]:
        if cut.get(p["name"], 0) != p["count"]:
            faults.append(f"{cut.get(p['name'], 0)} of {p}")
    for s in given["stock"]:
        if s["count"] is not None and used.get(s["name"], 0) > s["count"]:
            faults.append(f"{used[s['name']]} of {s}")
    if {s["name"]: s["count"] for s in out["stock_used"]} != used:
        faults.append(f"stock_used {out['stock_used']} is not {used}")
    if abs(cents(out["cost"]) - cost) > F(1, 200) or abs(cents(out["net_cost"]) - net) > F(1, 200):
        faults.append(f"cost {out['cost']} net {out['net_cost']}, worked {float(cost)} {float(net)}")
    faults += bounds(out, cents(out["net_cost"]))
    return faults, net


def bounds(out, cost):
    low = cents(out["lower_bound"])
    if low > cost or out["proven"] and low != cost:
        return [f"bound {out['lower_bound']} of {float(cost)}, proven {out['proven']}"]
    return []


def stages(tree):
    """Turns of the cutting direction and the first direction; cuts that only trim do not count."""
    if "cut" not in tree:
        return 0, None
    parts = [tree["first"], tree["second"]]
    inner = [p for p in parts if not p.get("left")]
    if len(inner) < 2:
        return stages(inner[0]) if inner else (0, None)
    depth = 0
    for part in inner:
        own, way = stages(part)
        depth = max(depth, own if own and way == tree["cut"] else own + 1)
    return depth, tree["cut"]


def sheets(given, out):
    faults = []
    kerf, most = exact(given.get("kerf") or 0), given.get("stages")
    pieces = {p["name"]: p for p in given["pieces"]}
    stock = {s["name"]: s for s in given["stock"]}
    cut, used, cost = {}, {}, F(0)
    for sheet in out["sheets"]:
        own, times = stock[sheet["stock"]], sheet["times"]
        length, width = exact(sheet["length"]), exact(sheet["width"])
        if width != exact(own["width"]) or own["length"] is not None and length != exact(own["length"]):
            faults.append(f"not the size of its stock: {sheet['stock']}")
        if own["length"] is None:
            cost += exact(sheet["length"]) * F(own["price_per_length"]) * times
        elif own.get("price") is not None:
            cost += F(own["price"]) * times
            used[sheet["stock"]] = used.get(sheet["stock"], 0) + times
        found, left = [], []

        def walk(tree, x, y, l, w):
            if tree.get("left"):
                if l > 0 and w > 0:
                    left.append((x, y, l, w))
            elif "piece" in tree:
                found.append((tree["piece"], x, y, l, w))
            else:
                at = exact(tree["at"])
                if tree["cut"] == "x":
                    if not x < at <= x + l:
                        faults.append(f"cut x {at} outside {x} + {l}")
                    walk(tree["first"], x, y, at - x, w)
                    walk(tree["second"], at + kerf, y, max(F(0), x + l - at - kerf), w)
                else:
                    if not y < at <= y + w:
                        faults.append(f"cut y {at} outside {y} + {w}")
                    walk(tree["first"], x, y, l, at - y)
                    walk(tree["second"], x, at + kerf, l, max(F(0), y + w - at - kerf))

        walk(sheet["tree"], F(0), F(0), length, width)
        placed = [(p["piece"], *(exact(p[k]) for k in ("x", "y", "length", "width"))) for p in sheet["placed"]]
        if sorted(placed) != sorted(found):
            faults.append(f"placed {placed} is not the tree's {found}")
        if sorted(tuple(exact(r[k]) for k in ("x", "y", "length", "width")) for r in sheet["left"]) != sorted(left):
            faults.append(f"left is not the tree's {left}")
        for place, p in zip(placed, sheet["placed"]):
            one = pieces[p["piece"]]
            size = (exact(one["length"]), exact(one["width"]))
            if p["turned"]:
                size = size[::-1]
            if size != place[3:] or p["turned"] and not one.get("turn"):
                faults.append(f"not the piece's size, or turned: {p}")
            if place[1] < 0 or place[2] < 0 or place[1] + place[3] > length or place[2] + place[4] > width:
                faults.append(f"outside the sheet: {p}")
            cut[p["piece"]] = cut.get(p["piece"], 0) + times
        for i, a in enumerate(placed):
            for b in placed[:i]:
                apart = any(one[k] + one[k + 2] + kerf <= other[k] for k in (1, 2) for one, other in ((a, b), (b, a)))
                if not apart:
                    faults.append(f"closer than a kerf: {a} {b}")
        if most is not None and stages(sheet["tree"])[0] > most:
            faults.append(f"{stages(sheet['tree'])[0]} stages where {most} are allowed")
    least = given.get("goal", "least_cost") == "least_cost"
    for p in given["pieces"]:
        got = cut.get(p["name"], 0)
        if least and got != p["count"] or not least and p["count"] is not None and got > p["count"]:
            faults.append(f"{got} of {p}")
    for s in given["stock"]:
        if s.get("count") is not None and used.get(s["name"], 0) > s["count"]:
            faults.append(f"{used[s['name']]} of {s}")
    if least:
        if abs(cents(out["cost"]) - cost) > F(1, 200):
            faults.append(f"cost {out['cost']}, worked {float(cost)}")
        return faults + bounds(out, cents(out["cost"])), cost
    value = sum(exact(p["value"]) * cut.get(p["name"], 0) for p in given["pieces"])
    if abs(value - exact(out["value"])) > NEAR or exact(out["upper_bound"]) < value - NEAR:
        faults.append(f"value {out['value']} bound {out['upper_bound']}, worked {float(value)}")
    if out["proven"] != (abs(exact(out["upper_bound"]) - value) <= NEAR):
        faults.append(f"proven {out['proven']}: value {out['value']} bound {out['upper_bound']}")
    return faults, value


def crew(given, out):
    faults = []
    starts = {t["id"]: exact(out["starts"][t["id"]]) for t in given["tasks"]}
    ends = {t["id"]: starts[t["id"]] + exact(t["takes"]) for t in given["tasks"]}
    for t in given["tasks"]:
        if starts[t["id"]] < 0:
            faults.append(f"{t['id']} starts before 0")
        for before in t.get("after") or []:
            if starts[t["id"]] < ends[before] - NEAR:
                faults.append(f"{t['id']} starts before {before} ends")
    for name, most in given["resources"].items():
        users = [t for t in given["tasks"] if (t.get("needs") or {}).get(name) and t["takes"] > 0]
        for moment in {starts[t["id"]] for t in users}:
            use = sum(t["needs"][name] for t in users if starts[t["id"]] <= moment < ends[t["id"]])
            if use > most:
                faults.append(f"{use} of {name} at {float(moment)}")
    finish = max(ends.values(), default=F(0))
    if abs(finish - exact(out["finish"])) > NEAR:
        faults.append(f"finish {out['finish']}, worked {float(finish)}")
    low = exact(out["lower_bound"])
    if low > finish + NEAR or out["proven"] != (low >= finish - NEAR):
        faults.append(f"bound {out['lower_bound']} finish {out['finish']} proven {out['proven']}")
    return faults, finish
