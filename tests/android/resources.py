"""Manifest and resources of the Android project: compiled and linked by aapt2 against the framework's own resources
(API 29, the newest that Debian has), attributes and permissions newer than that looked up in the published
declarations of the platform (npm @nativescript/types-android). Then the same with one thing broken at a time: every
break has to be caught, or the check itself is at fault."""

import re
import shutil
import subprocess
import sys
import tempfile
import xml.etree.ElementTree as ET
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
MAIN = ROOT / "src-tauri/gen/android/app/src/main"
FRAMEWORK = Path("/usr/share/android-framework-res/framework-res.apk")
ANDROID = "{http://schemas.android.com/apk/res/android}"
TOOLS = "{http://schemas.android.com/tools}"
PACKAGE, LEAST, TARGET = "app.bowseam.field", 26, 36
# What comes with androidx at a real build, as far as our resources name it.
ANDROIDX = """<resources><attr name="colorPrimary" format="color"/><attr name="colorAccent" format="color"/>
<style name="Theme.AppCompat.DayNight.NoActionBar" parent="android:Theme.Material.Light.NoActionBar"/></resources>"""


class Wrong(Exception):
    """What a check found."""


def declared(text, path):
    """Names of the fields of a class in the declarations, by its path of namespaces: each name once a class."""
    names = set()
    for at in re.finditer(r"export class %s\b[^{]*\{" % path, text):
        end, depth = at.end(), 1
        while depth:
            depth += {"{": 1, "}": -1}.get(text[end], 0)
            end += 1
        names |= set(re.findall(r"public static (\w+)\s*[:?]", text[at.end():end]))
    return names


def run(*words):
    done = subprocess.run(words, capture_output=True, text=True)
    if done.returncode:
        raise Wrong((done.stderr or done.stdout).strip().splitlines()[0].split(": error: ")[-1])
    return done.stdout


def older(path, newer):
    """Takes out what the framework of API 29 does not know yet and what only Gradle's merger reads."""
    for prefix, uri in (("android", ANDROID), ("tools", TOOLS)):
        ET.register_namespace(prefix, uri[1:-1])
    tree = ET.parse(path)
    for parent in tree.iter():
        for child in list(parent):
            name = child.get("name", "").removeprefix("android:")
            if child.tag == "queries" or child.get(TOOLS + "node") == "remove" or (child.tag == "item" and name in newer):
                parent.remove(child)
        for key in list(parent.attrib):
            if key.startswith(TOOLS) or key.removeprefix(ANDROID) in newer:
                del parent.attrib[key]
    text = ET.tostring(tree.getroot(), encoding="unicode").replace("${applicationId}", PACKAGE)
    text = text.replace("<manifest ", f'<manifest package="{PACKAGE}" ', 1)
    path.write_text(text)


def attributes(project):
    """Every android: attribute that manifest or resources use."""
    used = set()
    for file in [project / "AndroidManifest.xml", *(project / "res").rglob("*.xml")]:
        for node in ET.parse(file).iter():
            used |= {key.removeprefix(ANDROID) for key in node.attrib if key.startswith(ANDROID)}
            if node.tag == "item" and node.get("name", "").startswith("android:"):
                used.add(node.get("name").removeprefix("android:"))
    return used


def permissions(project):
    tree = ET.parse(project / "AndroidManifest.xml").getroot()
    return {node.get(ANDROID + "name").split(".")[-1] for node in tree.iter("uses-permission")}


def link(project, known, names_of_permissions, newer):
    """Compiles and links; answers what aapt2 says of the package."""
    unknown = attributes(project) - known
    if unknown:
        raise Wrong(f"no such attribute: {', '.join(sorted(unknown))}")
    unknown = permissions(project) - names_of_permissions
    if unknown:
        raise Wrong(f"no such permission: {', '.join(sorted(unknown))}")
    for file in [project / "AndroidManifest.xml", *(project / "res").glob("values*/*.xml")]:
        older(file, newer)
    (project / "res/values/androidx.xml").write_text(ANDROIDX)
    compiled, apk = project / "compiled.zip", project / "linked.apk"
    run("aapt2", "compile", "--dir", str(project / "res"), "-o", str(compiled))
    run("aapt2", "link", "-I", str(FRAMEWORK), "--manifest", str(project / "AndroidManifest.xml"), "-o", str(apk), "--java", str(project / "java"),
        "--min-sdk-version", str(LEAST), "--target-sdk-version", str(TARGET), str(compiled))
    return run("aapt2", "dump", "badging", str(apk))


def rules(project, badging):
    """What has to be so, whatever links."""
    manifest = (project / "AndroidManifest.xml").read_text()
    gradle = (project / "build.gradle.kts").read_text()
    wanted = {
        f"name='{PACKAGE}'": badging, f"sdkVersion:'{LEAST}'": badging, f"targetSdkVersion:'{TARGET}'": badging,
        "icon='res/mipmap-anydpi": badging,
        'android:allowBackup="false"': manifest, 'android:usesCleartextTraffic="false"': manifest,
        'cleartextTrafficPermitted="false"': (project / "res/xml/network_security_config.xml").read_text(),
        "isDebuggable = false": gradle, f"minSdk = {LEAST}": gradle, f"targetSdk = {TARGET}": gradle, f'applicationId = "{PACKAGE}"': gradle,
    }
    for words, text in wanted.items():
        if words not in text:
            raise Wrong(f"not there: {words}")
    rules_of = ET.parse(project / "res/xml/data_extraction_rules.xml").getroot()
    for part in ("cloud-backup", "device-transfer"):
        left_out = {node.get("domain") for node in rules_of.find(part)}
        if not {"root", "file", "database", "sharedpref", "external"} <= left_out:
            raise Wrong(f"{part} takes job data along")
    if "debuggable" in manifest.replace("isDebuggable", ""):
        raise Wrong("the manifest says debuggable")


def project(folder):
    place = Path(folder) / "main"
    shutil.rmtree(place, ignore_errors=True)
    shutil.copytree(MAIN, place, ignore=shutil.ignore_patterns("java", "generated", "jniLibs", "assets"))
    shutil.copy(MAIN.parents[1] / "build.gradle.kts", place)
    return place


def check(place, known, allowed, newer):
    # What aapt2 of API 29 does not know is read before it is taken out.
    manifest = ET.parse(place / "AndroidManifest.xml").getroot()
    asked = {node.get(ANDROID + "name") for node in manifest.findall("queries/intent/action")}
    kotlin = "".join(file.read_text() for file in MAIN.glob("java/**/*.kt"))
    wanted = {"android.media.action.IMAGE_CAPTURE"} | set(re.findall(r'Intent\("([\w.]+)"\)', kotlin))
    if asked != wanted:
        raise Wrong(f"queries and the intents that the code looks for differ: {', '.join(sorted(asked ^ wanted))}")
    for name in ("data_extraction_rules", "network_security_config"):
        if f"@xml/{name}" not in [value for node in manifest.iter("application") for value in node.attrib.values()]:
            raise Wrong(f"not there: @xml/{name}")
    rules(place, link(place, known, allowed, newer))


# One thing broken at a time: file, what stands there, what is put instead.
BREAKS = [
    ("a misspelt attribute", "AndroidManifest.xml", "android:launchMode", "android:launchmode"),
    ("a misspelt newer attribute", "AndroidManifest.xml", "android:dataExtractionRules", "android:dataExtractionRule"),
    ("an unknown value", "AndroidManifest.xml", '"singleTask"', '"oneTask"'),
    ("a missing query for the camera", "AndroidManifest.xml", "android.media.action.IMAGE_CAPTURE", "android.media.action.VIDEO_CAPTURE"),
    ("a permission that is none", "AndroidManifest.xml", "permission.CAMERA", "permission.CAMERAS"),
    ("backup left on", "AndroidManifest.xml", 'android:allowBackup="false"', 'android:allowBackup="true"'),
    ("backup rules not named", "AndroidManifest.xml", 'android:dataExtractionRules="@xml/data_extraction_rules"', ""),
    ("data moved to a new phone", "res/xml/data_extraction_rules.xml", '<device-transfer>\n        <exclude domain="root" />\n        <exclude domain="file" />', "<device-transfer>"),
    ("cleartext let through", "res/xml/network_security_config.xml", '"false"', '"true"'),
    ("a resource that is not there", "AndroidManifest.xml", "@mipmap/ic_launcher", "@mipmap/ic_launch"),
    ("a path that is not one", "res/drawable/ic_launcher_foreground.xml", "android:pathData", "android:pathDate"),
    ("another name of the package", "build.gradle.kts", 'applicationId = "app.bowseam.field"', 'applicationId = "app.bowseam"'),
    ("a release that can be debugged", "build.gradle.kts", "isDebuggable = false", "isDebuggable = true"),
    ("a string without its end", "res/values/strings.xml", "camera_refused\">", "camera_refused>"),
]


def main():
    text = Path(sys.argv[1]).read_text()
    known, allowed = declared(text, "attr"), declared(text, "permission")
    newer = known - set(re.findall(r"attr/(\w+)", run("aapt2", "dump", "resources", str(FRAMEWORK))))
    with tempfile.TemporaryDirectory() as folder:
        check(project(folder), known, allowed, newer)
        print("manifest and resources: linked, as they have to be")
        if len(sys.argv) > 2:
            shutil.copytree(Path(folder) / "main/java", sys.argv[2], dirs_exist_ok=True)
        for name, file, old, new in BREAKS:
            place = project(folder)
            path = place / file
            before = path.read_text()
            if old not in before:
                raise SystemExit(f"manifest and resources: FAILED, nothing to break for: {name}")
            path.write_text(before.replace(old, new, 1))
            try:
                check(place, known, allowed, newer)
            except (Wrong, ET.ParseError) as caught:
                print(f"manifest and resources, {name}: caught ({str(caught)[:110]})")
            else:
                raise SystemExit(f"manifest and resources: FAILED, not caught: {name}")


try:
    main()
except Wrong as wrong:
    raise SystemExit(f"manifest and resources: FAILED, {wrong}")
