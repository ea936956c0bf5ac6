"""Photos: ours beside vipsthumbnail. Called by tests/bench/photos with our program and the number of turns.

The photos are those of the demo yard with a camera's grain laid over them: a drawn picture without grain decodes
several times as fast as a photo does, and would flatter whoever is quick at decoding.
"""
import os
import re
import resource
import subprocess
import sys
import tempfile
import time

import numpy as np
from PIL import Image

SIDES = {"large": 2000, "small": 320}
PHOTOS = 8


def grain(picture, rng):
    """Noise in three octaves, as a phone's sensor gives in the shade."""
    pixels = np.asarray(picture.convert("RGB")).astype(np.float32)
    height, width, _ = pixels.shape
    for step, amount in ((1, 5.0), (4, 4.0), (16, 6.0)):
        noise = rng.normal(0, amount, (height // step + 1, width // step + 1, 1)).astype(np.float32)
        pixels += np.repeat(np.repeat(noise, step, 0), step, 1)[:height, :width]
    return Image.fromarray(np.clip(pixels, 0, 255).astype(np.uint8))


def make(folder):
    rng = np.random.default_rng(7)
    source = "demo-data/photos"
    for name in sorted(name for name in os.listdir(source) if name.endswith(".jpg"))[:PHOTOS]:
        grain(Image.open(f"{source}/{name}"), rng).save(f"{folder}/{name}", quality=88, subsampling="4:2:0")


def seconds(command, **more):
    """Seconds of processor time, which a busy machine lengthens less than the clock, and of the clock."""
    before, begun = resource.getrusage(resource.RUSAGE_CHILDREN), time.monotonic()
    done = subprocess.run(command, check=True, capture_output=True, text=True, **more)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    used = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
    return used, time.monotonic() - begun, done.stdout


def peer(photos, to):
    """vipsthumbnail makes one size a call."""
    environment = dict(os.environ, VIPS_CONCURRENCY="1")
    calls = [
        ["/usr/bin/env", "vipsthumbnail", *photos, "--size", f"{side}x{side}>", "-o", f"{to}/%s_{name}.jpg[Q=85]"]
        for name, side in SIDES.items()
    ]
    each = [seconds(call, env=environment) for call in calls]
    return sum(one[0] for one in each), sum(one[1] for one in each)


def peer_memory(photo, to):
    """Most memory of one call, kB."""
    script = "import resource, subprocess, sys; subprocess.run(sys.argv[1:], check=True); print(resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss)"
    call = ["vipsthumbnail", photo, "--size", "2000x2000>", "-o", f"{to}/%s_m.jpg[Q=85]"]
    return int(seconds([sys.executable, "-c", script, *call], env=dict(os.environ, VIPS_CONCURRENCY="1"))[2])


def memory(said):
    return int(re.search(r"^memory (\d+)$", said, re.M)[1])


def box(plane, size):
    """Means of all squares of this side."""
    total = np.pad(plane, ((1, 0), (1, 0))).cumsum(0).cumsum(1)
    return (total[size:, size:] - total[:-size, size:] - total[size:, :-size] + total[:-size, :-size]) / size**2


def likeness(one, other):
    """SSIM of the brightness (Wang, Bovik, Sheikh and Simoncelli 2004; windows of 8 by 8, from memory): of the copy as a
    person sees it, its JPEG decoded, to a reference that was never coded. Neither has a colour profile."""
    a, b = (np.asarray(picture.convert("L")).astype(np.float64) for picture in (one, other))
    size, c1, c2 = 8, (0.01 * 255) ** 2, (0.03 * 255) ** 2
    ma, mb = box(a, size), box(b, size)
    va, vb, vab = box(a * a, size) - ma**2, box(b * b, size) - mb**2, box(a * b, size) - ma * mb
    return float((((2 * ma * mb + c1) * (2 * vab + c2)) / ((ma**2 + mb**2 + c1) * (va + vb + c2))).mean())


def off_colour(one, other):
    """Root mean square difference of the two colour channels (Cb, Cr), of 255."""
    a, b = (np.asarray(picture.convert("YCbCr")).astype(np.float64)[..., 1:] for picture in (one, other))
    return float(np.sqrt(((a - b) ** 2).mean()))


def qualities(folder, copies):
    """The least likeness of any copy, of each size, to what Lanczos makes of the whole photo; the most that colours are
    off, and the mean size of a copy in kB."""
    least, colour, bytes_ = {}, 0.0, {}
    for name in sorted(os.listdir(folder)):
        photo = Image.open(f"{folder}/{name}").convert("RGB")
        for size, side in SIDES.items():
            copy = Image.open(f"{copies}/{name[:-4]}_{size}.jpg")
            if max(copy.size) != side:
                sys.exit(f"photos: {name} came out {copy.size}, not {side} at its longer side")
            reference = photo.resize(copy.size, Image.Resampling.LANCZOS)
            least[size] = min(likeness(copy, reference), least.get(size, 1.0))
            colour = max(colour, off_colour(copy, reference))
            bytes_.setdefault(size, []).append(os.path.getsize(copy.filename))
    return least, colour, {size: sum(each) / len(each) / 1e3 for size, each in bytes_.items()}


def main(program, turns):
    with tempfile.TemporaryDirectory() as room:
        folders = {name: f"{room}/{name}" for name in ("photos", "ours", "theirs", "fifty")}
        for folder in folders.values():
            os.mkdir(folder)
        make(folders["photos"])
        photos = sorted(f"{folders['photos']}/{name}" for name in os.listdir(folders["photos"]))
        megabytes = sum(os.path.getsize(photo) for photo in photos) / len(photos) / 1e6
        print(f"{len(photos)} photos of 4000 x 3000, {megabytes:.1f} MB each, {turns} turns")
        ours, theirs = [], []
        for turn in range(turns):
            ours.append(seconds([program, folders["photos"], folders["ours"]]))
            theirs.append(peer(photos, folders["theirs"]))
            print(f"turn {turn + 1}: ours {ours[-1][0]:.2f} s of processor ({ours[-1][1]:.2f} s), vipsthumbnail {theirs[-1][0]:.2f} s ({theirs[-1][1]:.2f} s)")
        print(f"most memory: ours {memory(ours[-1][2]) / 1e3:.0f} MB, vipsthumbnail {peer_memory(photos[0], folders['theirs']) / 1e3:.0f} MB (12 MP, large copy)")
        big = Image.open(photos[0]).resize((8192, 6144), Image.Resampling.BILINEAR)
        big.save(f"{folders['fifty']}/fifty.jpg", quality=88)
        print(f"most memory for a photo of 50 MP: ours {memory(seconds([program, folders['fifty'], folders['ours']])[2]) / 1e3:.0f} MB")
        os.remove(f"{folders['fifty']}/fifty.jpg")
        for who in ("ours", "theirs"):
            least, colour, kilobytes = qualities(folders["photos"], folders[who])
            said = ", ".join(f"{size} {value:.4f} ({kilobytes[size]:.0f} kB)" for size, value in least.items())
            print(f"SSIM of the decoded copy to a Lanczos reference never coded, the least of {len(photos)}, {who}: {said}; colours off by {colour:.1f} of 255")
        best = min(one[0] for one in ours), min(one[0] for one in theirs)
        each = [1000 * one / len(photos) for one in best]
        print(f"photos: {best[0] / best[1]:.2f} (ours / vipsthumbnail, processor time of both copies of a 12 MP photo, one thread each: {each[0]:.0f} ms with hash and EXIF / {each[1]:.0f} ms)")


main(sys.argv[1], int(sys.argv[2]))
