"""Our figures, asked through one process that stays open, and the published instances."""
import json, os, pathlib, subprocess

CHECKS = pathlib.Path(__file__).resolve().parents[4] / "shared" / "checks"


class Ours:
    def __init__(self):
        self.process = subprocess.Popen([os.environ["BOWSEAM_FIGURE_LINES"]], stdin=subprocess.PIPE,
                                        stdout=subprocess.PIPE, text=True)

    def ask(self, what, given):
        """The answer, with its exit code and the seconds that it took."""
        self.process.stdin.write(json.dumps({"what": what, "input": given}) + "\n")
        self.process.stdin.flush()
        line = self.process.stdout.readline()
        if not line:
            raise SystemExit(f"the figures died of: {json.dumps(given)}")
        answer = json.loads(line)
        return answer["exit"], answer["out"], answer["s"]


def numbers(*path):
    return [int(word) for word in CHECKS.joinpath(*path).read_text().split()]


def bar_instances():
    """Name, capacity, {size: count}, published optimum (`cut_bars/optima.csv`, instances of BPPLib.jl, MIT)."""
    for line in CHECKS.joinpath("cut_bars", "optima.csv").read_text().splitlines():
        cells = line.split(",")
        if not cells[0].startswith(("PM_", "Falkenauer")):
            continue
        counts = {}
        if cells[0].startswith("PM_"):
            text = numbers("cut_bars", f"{cells[0]}.txt")
            for size in text[2:]:
                counts[size] = counts.get(size, 0) + 1
        else:
            text = numbers("cut_bars", f"{cells[0]}_csp.txt")
            counts = dict(zip(text[2::2], text[3::2]))
        yield cells[0], text[1], counts, int(cells[3])


def psplib():
    """The published projects as our input, with the published optimum (PSPLIB; Kolisch and Sprecher 1996)."""
    for given in json.loads(CHECKS.joinpath("crew", "psplib_j301_1to3.json").read_text())["instances"]:
        most = {f"r{i}": n for i, n in enumerate(given["capacity"])}
        before = {}
        for own in given["activities"]:
            for behind in own["successors"]:
                before.setdefault(behind, []).append(str(own["id"]))
        tasks = [{"id": str(own["id"]), "takes": own["duration"], "after": before.get(own["id"], []),
                  "needs": {f"r{i}": n for i, n in enumerate(own["req"]) if n}} for own in given["activities"]]
        yield given["name"], {"resources": most, "tasks": tasks}, given["optimal_makespan"]


def sheet_instances():
    """Name, sheet, [(length, width, value, count or None)], turning, published optimum (`checks/README.md`)."""
    file, at = numbers("cut_sheets", "beasley_ngcutap.txt"), 1
    for i, best in enumerate([164, 230, 247, 268, 358, 289, 430, 834, 924, 1452, 1688, 1865]):
        many, length, width = file[at:at + 3]
        rows = [file[at + 3 + 5 * k:at + 8 + 5 * k] for k in range(many)]
        yield f"ngcut{i + 1}", (length, width), [(r[0], r[1], r[4], r[3]) for r in rows], False, best
        at += 3 + 5 * many

    def rows(file, wide):
        return [tuple(file[k:k + wide]) for k in range(0, len(file) - wide + 1, wide)]

    for i, best in enumerate([244, 2892, 1860]):
        file = numbers("cut_sheets", f"christofides1977_cgcut{i + 1}.txt")
        yield f"cgcut{i + 1}", (file[1], file[2]), [(l, w, v, n) for l, w, n, v in rows(file[3:], 4)], False, best
    for name, best in [("oliveira1990_OF1", 2737), ("oliveira1990_OF2", 2690), ("wang1983_W", 2721)]:
        file = numbers("cut_sheets", name)
        yield name, (file[0], file[1]), [(l, w, l * w, n) for l, w, n in rows(file[3:], 3)], False, best
    file = numbers("cut_sheets", "hifi1997a_HH")
    yield "hifi1997a_HH", (file[0], file[1]), rows(file[3:], 4), False, 11586
    for i, both in enumerate([(56460, 58136), (60536, 60611), (61036, 61626), (61698, 62265)]):
        file = numbers("cut_sheets", f"beasley1985_gcut{i + 1}.txt")
        pieces = [(l, w, v, None) for l, w, v in rows(file[3:], 3)]
        for turn, best in zip((False, True), both):
            yield f"gcut{i + 1}{' turned' * turn}", (file[1], file[2]), pieces, turn, best
    file = numbers("cut_sheets", "herz1972_H")
    pieces = [(l, w, l * w, None) for l, w in rows(file[3:], 2)]
    for turn, best in [(False, 12348), (True, 12387)]:
        yield f"Herz{' turned' * turn}", (file[0], file[1]), pieces, turn, best
