"""Crew beside CP-SAT with one worker, whose time is that of its `solve` alone: published projects and random ones."""
import random, statistics, sys, time
from ortools.sat.python import cp_model
from ours import Ours, psplib


def cp_sat(given, limit, step=1):
    """Finish, whether it is proven, and seconds; times are whole steps."""
    model, ends, spans = cp_model.CpModel(), {}, {}
    horizon = round(sum(t["takes"] for t in given["tasks"]) / step)
    for task in given["tasks"]:
        takes = round(task["takes"] / step)
        start = model.new_int_var(0, horizon - takes, "")
        spans[task["id"]] = model.new_interval_var(start, takes, start + takes, "")
        ends[task["id"]] = (start, start + takes)
    for task in given["tasks"]:
        for before in task.get("after", []):
            model.add(ends[task["id"]][0] >= ends[before][1])
    for name, most in given["resources"].items():
        users = [(spans[t["id"]], t["needs"][name]) for t in given["tasks"] if t.get("needs", {}).get(name) and t["takes"]]
        if users:
            model.add_cumulative([s for s, _ in users], [n for _, n in users], most)
    finish = model.new_int_var(0, horizon, "")
    for _, end in ends.values():
        model.add(finish >= end)
    model.minimize(finish)
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.max_time_in_seconds = limit
    begun = time.perf_counter()
    status = solver.solve(model)
    took = time.perf_counter() - begun
    return solver.objective_value * step, status == cp_model.OPTIMAL, took


def network(seed, many=30, kinds=4):
    """A random network like the published ones: each task waits for up to three earlier ones and needs up to
    all kinds of resource; how tight the resources are differs from network to network."""
    rng = random.Random(seed)
    share, tight = rng.choice([0.25, 0.5, 0.75, 1.0]), rng.choice([0.2, 0.35, 0.5, 0.7])
    tasks = []
    for i in range(many):
        after = rng.sample(range(max(0, i - 12), i), min(i, rng.choice([0, 1, 1, 2, 2, 3])) if i else 0) if i else []
        needs = {f"r{k}": rng.randint(1, 10) for k in range(kinds) if rng.random() < share}
        tasks.append({"id": f"t{i}", "takes": rng.randint(1, 10), "after": [f"t{a}" for a in after], "needs": needs})
    resources = {}
    for k in range(kinds):
        users = [t["needs"].get(f"r{k}", 0) for t in tasks]
        resources[f"r{k}"] = max(max(users), round(tight * sum(users) / 5)) or 1
    return {"resources": resources, "tasks": tasks}


def main():
    limit = float(sys.argv[1]) if len(sys.argv) > 1 else 20
    many = int(sys.argv[2]) if len(sys.argv) > 2 else 30
    instances = [] if many != 30 else list(psplib())
    instances += [(f"seed {seed}", network(seed, many), None) for seed in range(1, 101)]
    ours, own, peer, proven, peer_proven, unequal = Ours(), [], [], 0, 0, 0
    for turn, all_of in enumerate([instances[:2], instances]):
        for name, given, best in all_of:
            _, out, took = ours.ask("crew", {**given, "time_limit_s": limit})
            found, closed, peer_took = cp_sat(given, limit)
            if turn == 0:
                continue  # Both warm up on the first few.
            own.append(took)
            peer.append(peer_took)
            proven += out["proven"]
            peer_proven += closed
            wrong = (out["proven"] and closed and out["finish"] != found) or (best and out["proven"] and out["finish"] != best)
            unequal += bool(wrong)
            print(f"{name:9} ours {out['finish']:4} {'proven' if out['proven'] else 'from ' + str(out['lower_bound']):9} {took * 1e3:9.1f} ms"
                  f"  CP-SAT {found:4.0f} {'proven' if closed else 'open  '} {peer_took * 1e3:9.1f} ms{'  <-- unequal' if wrong else ''}", flush=True)
    print(f"slowest: ours {max(own):.2f} s, CP-SAT {max(peer):.2f} s; sum: ours {sum(own):.1f} s, CP-SAT {sum(peer):.1f} s; {unequal} unequal")
    ratio = statistics.median(own) / statistics.median(peer)
    print(f"crew: {ratio:.3f} median time over that of CP-SAT with one worker, {proven} of {len(own)} proven within {limit:g} s where it proves {peer_proven}; goal 1.0")
    sys.exit(unequal > 0)


if __name__ == "__main__":
    main()
