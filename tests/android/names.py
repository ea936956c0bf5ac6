"""Names by which the two sides find each other, compared: native methods of the Kotlin and the functions of the Rust
that the system looks up by name; commands that Rust asks for and those that the plugin has, with the fields of their
arguments and answers; the package in all of its places; permissions of the manifest and the code that needs each. Then
the same with one thing changed at a time: every change has to be caught."""

import json
import re
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
APP = ROOT / "src-tauri/gen/android/app"
PACKAGE = "app.bowseam.field"
# Kotlin's types of native methods beside those of Rust.
TYPES = {"String": "JString", "Int": "i32", "Long": "i64", "Boolean": "jboolean", "Unit": "__VOID__"}
# Who needs which permission: a name in our Kotlin or in ui/, or a reason outside of our code.
USES = {
    "INTERNET": ("core/send/src/link.rs", "ureq"),
    "ACCESS_NETWORK_STATE": ("SendWorker.kt", "isActiveNetworkMetered"),
    "CAMERA": ("ui/parts/camera.js", "getUserMedia"),
    "ACCESS_COARSE_LOCATION": ("Position.kt", "ACCESS_COARSE_LOCATION"),
    "ACCESS_FINE_LOCATION": ("Position.kt", "ACCESS_FINE_LOCATION"),
}
# Calls that need a permission, as the platform's documentation says (from memory).
NEEDS = {
    r"\bisActiveNetworkMetered\b": "ACCESS_NETWORK_STATE", r"\brequestLocationUpdates\b": "ACCESS_COARSE_LOCATION", r"\bgetUserMedia\b": "CAMERA",
    r"\bGPS_PROVIDER\b": "ACCESS_FINE_LOCATION", r"\bureq\b": "INTERNET", r"\bNotificationManager\b": "POST_NOTIFICATIONS", r"\bsetForeground": "FOREGROUND_SERVICE",
    r"\bgetExternalStorageDirectory\b": "READ_EXTERNAL_STORAGE", r"\bVibrator\b": "VIBRATE",
}


class Wrong(Exception):
    """What a check found."""


def read():
    """All texts that are compared, by the name of their file."""
    files = [*(APP / "src/main/java/app/bowseam/field").glob("*.kt"), *(ROOT / "src-tauri/src").glob("*.rs"), ROOT / "core/app/src/phone.rs", ROOT / "core/send/src/link.rs",
             ROOT / "ui/parts/camera.js", APP / "src/main/AndroidManifest.xml", APP / "build.gradle.kts", APP / "proguard-rules.pro", ROOT / "src-tauri/tauri.conf.json",
             ROOT / "src-tauri/Cargo.toml"]
    return {file.name if file.suffix != ".js" else "ui/parts/" + file.name: file.read_text() for file in files}


def natives(texts):
    """Native methods of our Kotlin against android_fn! of our Rust."""
    prefix = PACKAGE.replace(".", "_")
    wanted, there = {}, {}
    for name, text in texts.items():
        if name.endswith(".kt"):
            of = re.search(r"(?:object|class) (\w+)", text)
            for found in re.finditer(r"external fun (\w+)\(([^)]*)\)(?:: (\w+))?", text):
                given = [TYPES.get(part.split(":")[1].strip(), "?") for part in found[2].split(",") if part.strip()]
                wanted[f"Java_{prefix}_{of[1]}_{found[1]}"] = (given, TYPES.get(found[3] or "Unit", "?"))
        if name.endswith(".rs"):
            for found in re.finditer(r"android_fn!\(\s*(\w+),\s*(\w+),\s*(\w+),\s*(\w+),\s*\[([^\]]*)\](?:,\s*(\w+))?", text):
                given = [re.sub(r"<.*?>", "", part).strip() for part in found[5].split(",") if part.strip()]
                there[f"Java_{found[1]}_{found[2]}_{found[3]}_{found[4]}"] = (given, found[6] or "__VOID__")
    if not wanted or wanted != there:
        raise Wrong(f"native methods differ: Kotlin {wanted}, Rust {there}")
    for path in wanted:
        if f"class {PACKAGE}.{path.split('_')[-2]} " not in texts["proguard-rules.pro"]:
            raise Wrong(f"{path} would be renamed: proguard-rules.pro does not keep it")
    library = re.search(r'name = "(\w+)"', texts["Cargo.toml"].split("[lib]")[1])[1]
    if f'loadLibrary("{library}")' not in texts["Core.kt"]:
        raise Wrong(f"Core.kt does not load {library}")


def rust_fields(text, name):
    return set(re.findall(r"^\s+(?:pub )?(\w+):", re.search(r"struct %s \{(.*?)\n\}" % name, text, re.S)[1], re.M))


def commands(texts):
    """What Rust asks the plugin, with which arguments, and what it reads of the answer."""
    rust, kotlin = texts["phone.rs:shell"], texts["PhonePlugin.kt"]
    given = {found[1]: set(re.findall(r'"(\w+)":', found[2])) for found in re.finditer(r'"(\w+)",\s*json!\(\{([^}]*)\}\)', rust)}
    has = dict(re.findall(r"@Command\s+fun (\w+)\(invoke: Invoke\) \{(.*?)\n    \}", kotlin, re.S))
    if set(given) != set(has):
        raise Wrong(f"commands differ: {', '.join(sorted(set(given) ^ set(has)))}")
    args = {name: set(re.findall(r"var (\w+):", body)) for name, body in re.findall(r"class (\w+Args) \{(.*?)\n\}", kotlin, re.S)}
    for name, body in has.items():
        # A command may go on in another function of the class.
        read = {arg for _, arg in re.findall(r"(parseArgs)\((\w+)::class", body + (re.search(r"fun openCamera.*?\n    \}", kotlin, re.S)[0] if "openCamera" in body else ""))}
        fields = set().union(*(args[arg] for arg in read)) if read else set()
        if fields != given[name]:
            raise Wrong(f"{name}: Rust gives {sorted(given[name])}, Kotlin reads {sorted(fields)}")
    answers = kotlin + texts["Position.kt"]
    for struct, source in (("Taken", rust), ("Picked", rust), ("PickedFile", rust), ("Place", rust), ("Read", rust), ("PhoneState", texts["phone.rs"])):
        for field in rust_fields(source, struct):
            if f'.put("{field}"' not in answers:
                raise Wrong(f"{struct}.{field} is read by Rust and not told by Kotlin")
    callbacks = set(re.findall(r'invoke, \w+(?:\(\))?, "(\w+)"\)', kotlin)) | set(re.findall(r'requestPermissionForAlias\("\w+", invoke, "(\w+)"\)', kotlin))
    marked = set(re.findall(r"@(?:ActivityCallback|PermissionCallback)\s+fun (\w+)", kotlin))
    if callbacks != marked:
        raise Wrong(f"callbacks differ: {', '.join(sorted(callbacks ^ marked))}")


def package(texts):
    told = {
        "tauri.conf.json": json.loads(texts["tauri.conf.json"])["identifier"], "build.gradle.kts": re.search(r'namespace = "([\w.]+)"', texts["build.gradle.kts"])[1],
        "phone.rs": re.search(r'PACKAGE: &str = "([\w.]+)"', texts["phone.rs:shell"])[1],
        **{name: re.search(r"^package ([\w.]+)", text, re.M)[1] for name, text in texts.items() if name.endswith(".kt")},
    }
    for name, word in told.items():
        if word != PACKAGE:
            raise Wrong(f"{name} says {word}, not {PACKAGE}")
    if re.search(r'CLASS: &str = "(\w+)"', texts["phone.rs:shell"])[1] + "(" not in texts["PhonePlugin.kt"]:
        raise Wrong("the class of the plugin has another name")
    least = json.loads(texts["tauri.conf.json"])["bundle"]["android"]["minSdkVersion"]
    if f"minSdk = {least}\n" not in texts["build.gradle.kts"]:
        raise Wrong(f"tauri.conf.json says API {least}, build.gradle.kts another")


def permissions(texts):
    manifest = re.sub(r"<!--.*?-->", "", texts["AndroidManifest.xml"], flags=re.S)
    asked = set(re.findall(r'uses-permission android:name="android\.permission\.(\w+)" />', manifest))
    code = {name: text for name, text in texts.items() if name != "AndroidManifest.xml"}
    for needed in [name for call, name in NEEDS.items() if any(re.search(call, text) for text in code.values())]:
        if needed not in asked:
            raise Wrong(f"the code needs {needed} and the manifest does not ask for it")
    for name in asked:
        file, word = USES.get(name, ("", ""))
        if word not in code.get(file.split("/")[-1] if not file.startswith("ui") else file, ""):
            raise Wrong(f"{name} is asked for and not used")
        if name not in USES:
            raise Wrong(f"{name} is asked for without a reason in the table")
    return asked


# One thing changed at a time: file, what stands there, what is put instead.
BREAKS = [
    ("another name of a native method", "worker.rs", "Core, sendRound", "Core, sendRounds"),
    ("another type of a native method", "Core.kt", "seconds: Int", "seconds: Long"),
    ("a native method that would be renamed", "proguard-rules.pro", ".field.Core", ".field.Cores"),
    ("another library", "Core.kt", "bowseam_shell", "bowseam"),
    ("a command that the plugin lacks", "phone.rs:shell", '"keepAwake"', '"stayAwake"'),
    ("an argument that Kotlin does not read", "phone.rs:shell", '"longest":', '"largest":'),
    ("an answer that Kotlin does not tell", "PhonePlugin.kt", '.put("saver"', '.put("saves"'),
    ("a callback without its mark", "PhonePlugin.kt", "@ActivityCallback\n    fun scanned", "fun scanned"),
    ("another package", "tauri.conf.json", "app.bowseam.field", "app.bowseam.phone"),
    ("a permission without use", "AndroidManifest.xml", 'permission.CAMERA" />', 'permission.CAMERA" /><uses-permission android:name="android.permission.RECORD_AUDIO" />'),
    ("a permission that is not asked for", "AndroidManifest.xml", '<uses-permission android:name="android.permission.ACCESS_NETWORK_STATE" />', ""),
]


def check(texts):
    natives(texts)
    commands(texts)
    package(texts)
    return permissions(texts)


def main():
    texts = read()
    # Two files have one name.
    texts["phone.rs:shell"], texts["phone.rs"] = (ROOT / "src-tauri/src/phone.rs").read_text(), (ROOT / "core/app/src/phone.rs").read_text()
    asked = check(texts)
    print("names: native methods, commands, arguments, answers and the package are the same on both sides")
    for name in sorted(asked):
        print(f"permission {name}: used by {USES[name][0]} ({USES[name][1]})")
    for what, file, old, new in BREAKS:
        if old not in texts[file]:
            raise SystemExit(f"names: FAILED, nothing to break for: {what}")
        try:
            check(texts | {file: texts[file].replace(old, new, 1)})
        except Wrong as caught:
            print(f"names, {what}: caught ({str(caught)[:100]})")
        else:
            raise SystemExit(f"names: FAILED, not caught: {what}")


try:
    main()
except Wrong as wrong:
    raise SystemExit(f"names: FAILED, {wrong}")
