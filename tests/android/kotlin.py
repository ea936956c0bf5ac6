"""Our Kotlin, together with Tauri's own Kotlin that it stands on, compiled by npm's kotlin-compiler against stubs of
Android (stubs.txt): names, shapes, overrides and types are checked, what Android itself does is not, and neither is
null. Every android.* name of the stubs is looked up in the published declarations of the platform, with the API level
from which it is there: what is newer than the least API may only be used beside a check of the version. Then one thing
broken in each file, in one run: every break has to be caught.

Arguments: declarations, folder of kotlin-compiler, folder of R.java, folders of the crates tauri and wry."""

import re
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
OURS = ROOT / "src-tauri/gen/android/app/src/main/java/app/bowseam/field"
LEAST = 26
# API levels by the names that the code checks.
LEVELS = {"P": 28, "Q": 29, "R": 30, "S": 31, "TIRAMISU": 33}
HEAD = re.compile(r"(~?)((?:abstract )?(?:class|interface|enum|annotation)) ([\w.$]+)(<[^{]*?>)?((?: extends | implements ).*)?$")


class Wrong(Exception):
    """What a check found."""


def read_stubs():
    """Blocks of stubs.txt: (looked up?, kind, full name with $, generics, what it extends, members)."""
    blocks = []
    for line in (Path(__file__).parent / "stubs.txt").read_text().splitlines():
        if line.startswith("  "):
            blocks[-1][5].append(line.strip())
        elif line and not line.startswith("#"):
            unlooked, kind, name, generics, above = HEAD.match(line).groups()
            blocks.append((not unlooked, kind, name, generics or "", above or "", []))
    return blocks


def split(words):
    """Types of a parameter list, at commas outside of <>."""
    found, depth, word = [], 0, ""
    for c in words:
        depth += {"<": 1, "(": 1, ")": -1, ">": -1}.get(c, 0)
        if c == "," and depth == 0:
            found.append(word.strip())
            word = ""
        else:
            word += c
    return [*found, word.strip()] if word.strip() else found


def member(kind, simple, line):
    """One line of stubs.txt as Java."""
    line, _, throws = line.partition(" throws ")
    throws = f" throws {throws}" if throws else ""
    if "(" not in line:
        how, of, name = line.rsplit(" ", 2)
        # Constants that an annotation may name; the version that runs is none.
        constant = how == "static" and name != "SDK_INT" and {"String": ' = "x"', "int": " = 1"}.get(of)
        return f"public {'static ' if how == 'static' else ''}{'final ' if constant else ''}{of} {name}{constant or ''};"
    head, inside = line[: line.index("(")], line[line.index("(") + 1: line.rindex(")")]
    given = ", ".join(f"{of} p{n}" for n, of in enumerate(split(inside)))
    body = "{ throw new RuntimeException(); }"
    if head == "new":
        return f"public {simple}({given}){throws} {{ {'' if throws else ''} }}"
    if kind == "annotation":
        return f"{head}();"
    if kind == "interface" and not head.startswith(("default", "static")):
        return f"{head}({given}){throws};"
    return f"public {head}({given}){throws} {body if not head.startswith('abstract') else ';'}"


def java(blocks, folder):
    """Writes the stubs as Java, inner classes in their outer one; a class without a `new` line has one all the same."""
    outer = {}
    for block in blocks:
        outer.setdefault(block[2].split("$")[0], []).append(block)
    for name, parts in outer.items():
        package, simple = name.rsplit(".", 1)
        own = next((part for part in parts if part[2] == name), None) or (True, "class", name, "", "", [])
        inner = "".join(written(part, part[2].split("$")[1], "static ") for part in parts if part is not own)
        file = folder / package.replace(".", "/") / f"{simple}.java"
        file.parent.mkdir(parents=True, exist_ok=True)
        file.write_text(f"package {package};\n{written(own, simple, '', inner)}")


def written(block, simple, how, inner=""):
    _, kind, _, generics, above, lines = block
    word = {"annotation": "@interface"}.get(kind, kind)
    if kind == "enum":
        return f"public {how}enum {simple} {{ {', '.join(lines)} }}\n"
    body = [member(kind, simple, line) for line in lines]
    if "class" in kind and not any(re.match(r"new\(\)", line) for line in lines):
        body.append(f"protected {simple}() {{}}")
    return f"public {how}{word} {simple}{generics}{above} {{\n" + "\n".join(body) + f"\n{inner}}}\n"


def inside(text):
    """Where a parameter list ends whose opening bracket is gone."""
    depth = 1
    for at, c in enumerate(text):
        depth += {"(": 1, ")": -1}.get(c, 0)
        if depth == 0:
            return at
    return len(text)


def declarations(path):
    """Classes of the platform: members by name with their counts of parameters and the level since when they are there."""
    classes, stack, since = {}, [], 0
    for line in Path(path).read_text().splitlines():
        text = line.strip()
        if found := re.match(r"/\*\* @since (\d+)", text):
            since = int(found[1])
            continue
        if found := re.match(r"(?:declare|export) (module|class|interface|abstract class)? ?([\w.$]+).*\{$", text):
            stack.append(found[2])
            if found[1] != "module":
                above = re.findall(r"(?:extends|implements) ([\w.]+)", text)
                classes.setdefault(".".join(stack), ({}, above, since))
        elif text.endswith("{"):
            stack.append("?")
        elif text.startswith("}"):
            stack and stack.pop()
        elif stack and ".".join(stack) in classes:
            if found := re.match(r"public (?:static )?(?:abstract )?([\w$]+)\s*(?:<[^(]*>)?(\()?(.*)", text):
                count = len(split(found[3][: inside(found[3])])) if found[2] else -1
                levels = classes[".".join(stack)][0].setdefault(found[1], {})
                levels[count] = min(since, levels.get(count, since))
        since = 0
    return classes


def look_up(blocks, classes):
    """Every name of the stubs in the declarations; answers those that are newer than the least API, with their level."""
    newer = {}
    for looked, kind, name, _, _, lines in blocks:
        if not looked or name.startswith("androidx"):
            continue
        path = name.replace("$", ".")
        if path not in classes:
            raise Wrong(f"no such class: {path}")
        if classes[path][2] > LEAST:
            newer[path.split(".")[-1]] = classes[path][2]
        for line in lines:
            line = line.partition(" throws ")[0]
            known = line.split("(")[0].split(" ")[-1]
            given = -1
            if "(" in line:
                given = len(split(line[line.index("(") + 1: line.rindex(")")]))
            level = find(classes, path, "constructor" if known == "new" else known, given)
            if level is None:
                raise Wrong(f"no such member: {path}: {line}")
            if level > LEAST and known != "new" and path != "android.os.Build.VERSION_CODES":
                newer[known] = level
    return newer


def find(classes, path, name, given):
    """The level of a member of a class or of what it extends; None if there is none."""
    if path not in classes:
        return None
    members, above, _ = classes[path]
    if name in members and (given in members[name] or given < 0 or "constructor" == name):
        return members[name].get(given, 0)
    return next((level for up in above if (level := find(classes, up, name, given)) is not None), None)


def guards(files, newer):
    for file in files:
        text = file.read_text()
        checked = max([LEVELS[name] for name in re.findall(r"SDK_INT >= Build\.VERSION_CODES\.(\w+)", text) if name in LEVELS], default=LEAST)
        for name, level in newer.items():
            if level > checked and re.search(rf"\b{name}\b", text):
                raise Wrong(f"{file.name} uses {name} of API {level} without asking which version runs")


def tauri_sources(tauri, wry, folder):
    """Tauri's and wry's Kotlin, as a build lays it beside ours; without what only shows files or web content."""
    shown = ("FsUtils.kt", "PathPlugin.kt", "RustWebChromeClient.kt", "RustWebViewClient.kt", "Ipc.kt")
    for source in [*(tauri / "mobile/android/src/main/java").rglob("*.kt"), *(tauri / "mobile/android-codegen").glob("*.kt"), *(wry / "src/android/kotlin").glob("*.kt")]:
        if source.name in shown:
            continue
        text = source.read_text().replace("{{package}}", "app.bowseam.field").replace("{{library}}", "bowseam_shell")
        (folder / f"{source.parent.name}-{source.name}").write_text(re.sub(r"\{\{class-\w+\}\}", "", text))
    # Gradle writes these two; the third stands for the one left out.
    for package in ("app.tauri", "app.bowseam.field"):
        (folder / f"{package}.BuildConfig.kt").write_text(f"package {package}\nobject BuildConfig {{ const val DEBUG = false }}\n")
    (folder / "FsUtils.kt").write_text(
        "package app.tauri\ninternal class FsUtils { companion object {\n"
        "fun readAsset(manager: android.content.res.AssetManager, name: String): String = TODO()\n"
        "fun getFileUrlForUri(context: android.content.Context, uri: android.net.Uri): String? = TODO() } }\n")
    (folder / "edges.kt").write_text("package androidx.activity\nfun ComponentActivity.enableEdgeToEdge() {}\n")
    (folder / "edit.kt").write_text(
        "package androidx.core.content\nfun android.content.SharedPreferences.edit(action: android.content.SharedPreferences.Editor.() -> Unit) {}\n")


def compile_all(compiler, place):
    """Errors of the compiler by file of ours, and those of others."""
    sources = [str(place / name) for name in ("ours", "tauri", "stubs", "r")]
    done = subprocess.run(["bash", str(compiler / "bin/kotlinc"), "-nowarn", "-d", str(place / "out"), *sources], capture_output=True, text=True)
    errors = [line for line in done.stderr.splitlines() if ": error: " in line or line.startswith("error: ")]
    if done.returncode and not errors:
        raise SystemExit(f"kotlin: FAILED, the compiler did not run: {done.stderr[-400:]}")
    return [re.sub(r"^.*/(ours|tauri|stubs|r)/", r"\1/", line) for line in errors]


# One break a file: what stands there, what is put instead.
BREAKS = {
    "Core.kt": ("seconds: Int, metered", "seconds: Seconds, metered"),
    "MainActivity.kt": ("override fun onWebViewCreate(webView: WebView)", "override fun onWebViewCreated(webView: WebView)"),
    "PhonePlugin.kt": ("invoke.parseArgs(PickArgs::class.java).most", "invoke.parseArgs(PickArgs::class.java).mots"),
    "Pictures.kt": ("ImageDecoder.ALLOCATOR_SOFTWARE", "ImageDecoder.ALLOCATOR_SOFT"),
    "Position.kt": ("location.accuracy.toDouble()", "location.accuracy().toDouble()"),
    "SendWorker.kt": ("setRequiresBatteryNotLow(true)", "setRequiresBatteryNotLow(1)"),
}


def main():
    declared, compiler, r, tauri, wry = (Path(word) for word in sys.argv[1:])
    blocks = read_stubs()
    classes = declarations(declared)
    newer = look_up(blocks, classes)
    guards(sorted(OURS.glob("*.kt")), newer)
    print(f"kotlin: {sum(len(block[5]) for block in blocks)} names of the stubs, those of the platform looked up; newer than API {LEAST} and asked for: {', '.join(sorted(newer))}")
    with tempfile.TemporaryDirectory() as folder:
        place = Path(folder)
        shutil.copytree(OURS, place / "ours")
        shutil.copytree(r, place / "r")
        (place / "tauri").mkdir()
        java(blocks, place / "stubs")
        tauri_sources(tauri, wry, place / "tauri")
        if errors := compile_all(compiler, place):
            raise Wrong("; ".join(errors[:40]))
        print("kotlin: compiled with Tauri's own against the stubs")
        for name, (old, new) in BREAKS.items():
            text = (place / "ours" / name).read_text()
            if old not in text:
                raise SystemExit(f"kotlin: FAILED, nothing to break in {name}")
            (place / "ours" / name).write_text(text.replace(old, new, 1))
        errors = compile_all(compiler, place)
        for name in BREAKS:
            said = next((line for line in errors if line.startswith(f"ours/{name}")), None)
            if said is None:
                raise SystemExit(f"kotlin: FAILED, not caught: the break in {name}")
            print(f"kotlin, a break in {name}: caught ({said.split('error: ')[1][:90]})")
        plain = place / "Plain.kt"
        plain.write_text("val picker = MediaStore.ACTION_PICK_IMAGES")
        for what, check in (("a newer name without a check of the version", lambda: guards([plain], newer)),
                            ("a name that Android does not have", lambda: look_up([(True, "class", "android.content.Intent", "", "", ["void resolveAct(int)"])], classes))):
            try:
                check()
            except Wrong as caught:
                print(f"kotlin, {what}: caught ({caught})")
            else:
                raise SystemExit(f"kotlin: FAILED, not caught: {what}")


try:
    main()
except Wrong as wrong:
    raise SystemExit(f"kotlin: FAILED, {wrong}")
