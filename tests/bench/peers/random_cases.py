"""Random cases against independent optima: bars against all plans under HiGHS, sheets against exhaustive search,
crews against CP-SAT. Prints the seed first; ends non-zero if an optimum differs or a plan breaks a rule."""
import itertools, random, sys, time
from fractions import Fraction as F
import highspy
import rules
from crew import cp_sat, network
from ours import Ours


def least_of_plans(plans, demand, limits):
    """Least cost of whole plans that meet the demand exactly; plans are (cost, counts, stock). None if none do."""
    if not any(demand):
        return F(0)
    solver = highspy.Highs()
    solver.setOptionValue("output_flag", False)
    solver.setOptionValue("mip_rel_gap", 0.0)
    solver.setOptionValue("mip_abs_gap", 1e-7)
    columns = [solver.addIntegral(lb=0.0, obj=float(cost)) for cost, _, _ in plans]
    if not columns:
        return None
    for kind, want in enumerate(demand):
        terms = [c * plan[1][kind] for c, plan in zip(columns, plans) if plan[1][kind]]
        if want and not terms:
            return None
        if terms:
            solver.addConstr(sum(terms) == want)
    for stock, most in enumerate(limits):
        terms = [c for c, plan in zip(columns, plans) if plan[2] == stock]
        if most is not None and terms:
            solver.addConstr(sum(terms) <= most)
    solver.run()
    if solver.getModelStatus() != highspy.HighsModelStatus.kOptimal:
        return None
    amounts = solver.getSolution().col_value
    return sum((plan[0] * round(a) for plan, a in zip(plans, amounts)), F(0))


def bars_case(rng):
    scale = rng.choice([1, 1, 1, F(1, 8), 100])
    size = lambda a, b: float(rng.randint(a, b) * scale) if scale != 1 else rng.randint(a, b)
    stock = [{"name": f"s{i}", "length": size(60, 200), "count": rng.choice([None, None, rng.randint(1, 5)]),
              "price": rng.choice(["10", "12.50", "0", "7.77", f"{rng.randint(1, 9999) / 100:.2f}", "1"])}
             for i in range(rng.randint(1, 3))]
    kinds = rng.randint(1, 5)
    pieces = [{"name": f"p{i}", "length": size(15, 120), "count": rng.randint(0, 6 if kinds < 4 else 4)} for i in range(kinds)]
    return {"unit": "mm" if scale > 1 else rng.choice(["in", "mm"]), "kerf": float(rng.choice([0, 0, 1, 2, 3]) * scale),
            "end_trim": float(rng.choice([0, 0, 5, 10]) * scale), "stock": stock, "pieces": pieces,
            "keep_from": rng.choice([None, None, float(rng.randint(0, 80) * scale)]), "time_limit_s": 10}


def bars_best(given):
    kerf, trim = F(str(given["kerf"])), F(str(given["end_trim"]))
    keep = None if given["keep_from"] is None else F(str(given["keep_from"]))
    sizes = [F(str(p["length"])) for p in given["pieces"]]
    demand = [p["count"] for p in given["pieces"]]
    plans = []
    for place, s in enumerate(given["stock"]):
        length, price = F(str(s["length"])), F(s["price"])
        room = length - trim + kerf

        def grow(kind, counts, free):
            if kind == len(sizes):
                if any(counts):
                    left = max(F(0), free - kerf)
                    worth = price * left / length if keep is not None and left >= keep else 0
                    plans.append((price - worth, tuple(counts), place))
                return
            for n in range(demand[kind] + 1):
                if n * (sizes[kind] + kerf) > free:
                    break
                grow(kind + 1, counts + [n], free - n * (sizes[kind] + kerf))

        grow(0, [], room)
    return least_of_plans(plans, demand, [s["count"] for s in given["stock"]])


def boxes(shapes, counts, sheet, most, kerf):
    """For each multiset of pieces: the least rectangles that edge-to-edge joins give, with stages and direction."""
    made = {}
    zero = tuple(0 for _ in counts)
    for total in itertools.product(*(range(n + 1) for n in counts)):
        if total == zero:
            continue
        found = set()
        if sum(total) == 1:
            kind = total.index(1)
            found = {(l, w, 0, None) for k, l, w in shapes if k == kind}
        for first in itertools.product(*(range(n + 1) for n in total)):
            second = tuple(t - f for t, f in zip(total, first))
            if first == zero or second == zero or first < second:
                continue
            for a in made.get(first, ()):
                for b in made.get(second, ()):
                    for way in ("x", "y"):
                        l, w = (a[0] + b[0], max(a[1], b[1])) if way == "x" else (max(a[0], b[0]), a[1] + b[1])
                        depth = max(c[2] if c[2] and c[3] == way else c[2] + 1 for c in (a, b)) if most else 0
                        found.add((l, w, depth, way if most else None))
        found = {f for f in found if f[0] <= sheet[0] and f[1] <= sheet[1] and (not most or f[2] <= most)}
        kept = [f for f in found if not any(g != f and g[0] <= f[0] and g[1] <= f[1] and (not most or (
            g[2] <= f[2] if g[3] == f[3] else g[2] + 1 <= f[2])) for g in found)]
        if kept:
            made[total] = kept
    return made


def sheets_case(rng):
    value = rng.random() < 0.5
    many = rng.randint(1, 6)
    pieces = []
    while many > 0:
        n = min(many, rng.randint(1, 3))
        many -= n
        pieces.append({"name": f"p{len(pieces)}", "length": rng.randint(10, 60), "width": rng.randint(10, 50), "count": n,
                       "turn": rng.random() < 0.5, "value": rng.randint(0, 50)})
    stock = [{"name": f"s{i}", "length": rng.randint(40, 100), "width": rng.randint(30, 60), "price": rng.choice(["31.50", "20", "7.77", "0", "40"]),
              "count": rng.choice([None, None, rng.randint(1, 3)])} for i in range(1 if value else rng.randint(1, 2))]
    if value:
        stock[0]["count"] = 1
        if rng.random() < 0.3:
            pieces[0].update(count=None, length=rng.randint(30, 60), width=rng.randint(20, 50))
    elif rng.random() < 0.25:
        stock.append({"name": "coil", "length": None, "width": rng.randint(30, 60), "price_per_length": rng.choice(["0.25", "0.50", "1"])})
    return {"unit": rng.choice(["in", "mm"]), "kerf": rng.choice([0, 0, 1, 3]), "stock": stock, "pieces": pieces,
            "goal": "most_value" if value else "least_cost", "stages": rng.choice([None, None, None, 1, 2, 3, 4]), "time_limit_s": 10}


def sheets_best(given):
    kerf, most = given["kerf"], given["stages"]
    shapes, counts = [], []
    value = given["goal"] == "most_value"
    for kind, p in enumerate(given["pieces"]):
        l, w = p["length"] + kerf, p["width"] + kerf
        shapes += [(kind, l, w)] + ([(kind, w, l)] if p["turn"] and l != w else [])
        s = given["stock"][0]
        fit = (s["length"] + kerf) * (s["width"] + kerf) // (l * w) if value else 99
        counts.append(fit if p["count"] is None else min(p["count"], fit))
    if value:
        s = given["stock"][0]
        made = boxes(shapes, counts, (s["length"] + kerf, s["width"] + kerf), most, kerf)
        return F(max((sum(n * p["value"] for n, p in zip(total, given["pieces"])) for total in made), default=0))
    plans = []
    for place, s in enumerate(given["stock"]):
        long = 10**6 if s["length"] is None else s["length"] + kerf
        made = boxes(shapes, counts, (long, s["width"] + kerf), most, kerf)
        for total, found in made.items():
            price = F(s["price"]) if s["length"] is not None else F(s["price_per_length"]) * (min(f[0] for f in found) - kerf)
            plans.append((price, total, place))
    return least_of_plans(plans, [p["count"] for p in given["pieces"]], [s.get("count") for s in given["stock"]])


def crew_case(rng):
    given = network(rng.randint(1, 10**9), rng.choice([3, 6, 10, 15, 20, 25, 30]), rng.randint(1, 4))
    for task in given["tasks"]:
        if rng.random() < 0.1:
            task["takes"] = 0
        elif rng.random() < 0.3:
            task["takes"] += rng.choice([0.5, 0.25])
    return {**given, "time": "h", "time_limit_s": 10}


KINDS = {"cut-bars": (bars_case, bars_best, rules.bars), "cut-sheets": (sheets_case, sheets_best, rules.sheets),
         "crew": (crew_case, None, rules.crew)}


def main():
    cases = int(sys.argv[1]) if len(sys.argv) > 1 else 100
    seed = int(sys.argv[2]) if len(sys.argv) > 2 else int(time.time())
    only = sys.argv[3:] or list(KINDS)
    print(f"seed {seed}", flush=True)
    ours, bad = Ours(), 0
    for what in only:
        case, best_of, check = KINDS[what]
        rng = random.Random(f"{seed} {what}")
        equal = open_ = refused = late = 0
        for turn in range(cases):
            given = case(rng)
            code, out, took = ours.ask(what, given)
            if what == "crew":
                best, closed, _ = cp_sat(given, 10, 0.25)
            else:
                best, closed = best_of(given), True
            faults = []
            late += took > given["time_limit_s"] + 0.2
            if code == 3:
                refused += 1
                if best is not None:
                    faults.append(f"refused, but {float(best)} can be had: {out}")
            elif code != 0:
                faults.append(f"exit {code}: {out}")
            elif best is None:
                faults.append(f"a plan where none can be: {out}")
            else:
                broken, own = check(given, out)
                faults += broken
                worse = float(own) - float(best) if given.get("goal") != "most_value" else float(best) - float(own)
                near = 0.0051
                if closed and (worse < -near or out["proven"] and worse > near):
                    faults.append(f"{float(own)} (proven {out['proven']}) where the optimum is {float(best)}")
                if not closed and out["proven"] and worse > near:
                    faults.append(f"proven {float(own)}, but {float(best)} can be had")
                low = out.get("lower_bound")
                if closed and low is not None and float(low) > float(best) + near:
                    faults.append(f"bound {low} above the optimum {float(best)}")
                high = out.get("upper_bound")
                if closed and high is not None and given.get("goal") == "most_value" and high < float(best) - near:
                    faults.append(f"bound {high} below the optimum {float(best)}")
                open_ += not out["proven"]
                equal += abs(worse) <= near
            for fault in faults:
                print(f"{what} case {turn}: {fault}\n  {given}", flush=True)
            bad += bool(faults)
        print(f"{what}: {cases} cases, {equal} at the independent optimum, {open_} not proven, {refused} without enough stock, {late} late", flush=True)
    print(f"random_cases: {bad} of {cases * len(only)} broke a rule or an optimum, seed {seed}")
    sys.exit(bad > 0)


main()
