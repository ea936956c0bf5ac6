"""One sheet cut edge to edge: every published instance at its published optimum, proven."""
import sys
from ours import Ours, sheet_instances

limit = float(sys.argv[1]) if len(sys.argv) > 1 else 30
ours, slowest, bad, many = Ours(), 0.0, 0, 0
for name, sheet, pieces, turn, best in sheet_instances():
    given = {"unit": "mm", "goal": "most_value", "time_limit_s": limit,
             "stock": [{"name": "sheet", "length": sheet[0], "width": sheet[1], "count": 1}],
             "pieces": [{"name": f"p{i}", "length": l, "width": w, "value": v, "count": n, "turn": turn}
                        for i, (l, w, v, n) in enumerate(pieces)]}
    _, out, took = ours.ask("cut-sheets", given)
    good = out["proven"] and out["value"] == best
    bad += not good
    many += 1
    slowest = max(slowest, took)
    print(f"{name:18} {out['value']:6} of {best:6}  bound {out['upper_bound']:6}  {took:7.3f} s"
          f"{'' if good else '  <-- not proven at the published optimum'}", flush=True)
print(f"sheets: {slowest:.2f} s for the slowest of the published instances, {many - bad} of {many} proven at the published optimum; goal 10")
sys.exit(bad > 0)
