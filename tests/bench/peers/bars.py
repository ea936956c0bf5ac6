"""Bars beside arc-flow (Valério de Carvalho 1999, pieces by falling size) with HiGHS, whose time is that of its
`run` alone: the building of the model is not counted."""
import statistics, sys, time
import highspy
from ours import Ours, bar_instances


def arc_flow(room, counts):
    """The least number of bars, and the seconds that HiGHS took for it."""
    sizes = sorted(counts, reverse=True)
    # From each place, the arcs of pieces no longer than those before it; only places that can be reached.
    reached, arcs = {0}, set()
    for size in sizes:
        front = set(reached)
        for place in front:
            for n in range(1, counts[size] + 1):
                if place + n * size > room:
                    break
                arcs.add((place + (n - 1) * size, place + n * size, size))
                reached.add(place + n * size)
    reached.add(room)
    places = sorted(reached)
    arcs = sorted(arcs) + [(a, b, 0) for a, b in zip(places, places[1:]) if b > min(sizes)]
    if places[0] == 0 and len(places) > 1 and not any(a == 0 and s == 0 for a, _, s in arcs):
        arcs.append((0, room, 0))
    solver = highspy.Highs()
    solver.setOptionValue("output_flag", False)
    solver.setOptionValue("threads", 1)
    solver.setOptionValue("time_limit", 120.0)
    columns = {arc: solver.addIntegral(lb=0.0, ub=float(counts.get(arc[2], highspy.kHighsInf))) for arc in arcs}
    bars = solver.addIntegral(lb=0.0)
    into, out = {p: [] for p in places}, {p: [] for p in places}
    for (a, b, _), column in columns.items():
        out[a].append(column)
        into[b].append(column)
    for place in places:
        flow = sum(into[place]) - sum(out[place]) if into[place] or out[place] else 0
        if place == 0:
            solver.addConstr(sum(out[place]) == bars)
        elif place == room:
            solver.addConstr(sum(into[place]) == bars)
        elif into[place] or out[place]:
            solver.addConstr(flow == 0)
    for size in sizes:
        solver.addConstr(sum(c for arc, c in columns.items() if arc[2] == size) >= counts[size])
    begun = time.perf_counter()
    solver.minimize(bars)
    took = time.perf_counter() - begun
    proven = solver.getModelStatus() == highspy.HighsModelStatus.kOptimal
    return round(solver.getObjectiveValue()) if proven else None, took


def main():
    ours, own, peer, bad = Ours(), [], [], 0
    limit = float(sys.argv[1]) if len(sys.argv) > 1 else 20
    for turn, instances in enumerate([list(bar_instances())[:3], list(bar_instances())]):
        for name, room, counts, best in instances:
            given = {"unit": "mm", "stock": [{"name": "bar", "length": room, "count": None, "price": "1"}],
                     "pieces": [{"name": f"p{s}", "length": s, "count": n} for s, n in counts.items()],
                     "time_limit_s": limit}
            _, out, took = ours.ask("cut-bars", given)
            found, peer_took = arc_flow(room, counts)
            if turn == 0:
                continue  # Both warm up on the first few.
            good = out["proven"] and float(out["cost"]) == best == found
            bad += not good
            own.append(took)
            peer.append(peer_took)
            print(f"{name:20} {out['cost']:>6} of {best:3}  ours {took * 1e3:9.2f} ms  arc-flow {peer_took * 1e3:9.2f} ms"
                  f"{'' if good else f'  <-- not proven at the published optimum (arc-flow {found})'}", flush=True)
    print(f"slowest: ours {max(own):.3f} s, arc-flow {max(peer):.3f} s; sum: ours {sum(own):.2f} s, arc-flow {sum(peer):.2f} s")
    ratio = statistics.median(own) / statistics.median(peer)
    print(f"bars: {ratio:.4f} median time over that of arc-flow with HiGHS, {len(own) - bad} of {len(own)} proven at the published optimum; goal 0.25")
    sys.exit(bad > 0)


main()
