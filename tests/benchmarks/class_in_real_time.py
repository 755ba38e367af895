"""A packed class taught in real time in a headless Chromium: drift, memory, processor, and how soon On is heard.

    .venv/bin/python tests/benchmarks/class_in_real_time.py PAGE [MINUTES] [OUT]

PAGE is what `arcbed pack SET --out FOLDER --live` wrote. Every quarter of a minute one line is added to OUT (JSON): what
the class clock counts, what is heard at that moment by the browser's own word (`getOutputTimestamp`), how far the sound's
clock has gone from the wall's, memory and processor time of all processes of the browser.
Every few minutes, chosen by a seed, Stay is pressed for some seconds, or On, or Softer. It costs the time of the class.
Linux only: memory and processor are read from /proc.
"""

import json
import os
import random
import shutil
import statistics
import sys
import time
from pathlib import Path

ARGS = [
    "--no-sandbox",
    "--disable-gpu",
    "--mute-audio",
    "--autoplay-policy=no-user-gesture-required",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
EVERY_S = 15
LOOK = """() => { const t = window.classTaught, s = t.state(), r = t.r(), p = t.player();
const out = t.context().getOutputTimestamp(), heard = out.contextTime + (performance.now() - out.performanceTime) / 1000;
return {clock: t.r(), behind: t.context().currentTime - heard, zero: s.zero, r: p.r(), held: p.held(), voices: p.voices(), faults: p.faults, end: s.music.end,
next: s.music.spans.filter(x => x.start > r && x.pick >= 0).map(x => x.start)[0]}; }"""
LEFT = """() => { const data = JSON.parse(document.getElementById("class-data").textContent), c = window.classTaught.here();
return Math.min(...data.live.sections.map(x => x.start_s).filter(at => at > c)) - c; }"""
MOST_LEFT_S = 240  # of a part that On leaves: the class is to last as long as was planned
ON = """() => { const t = window.classTaught, before = t.state().music, r = t.r();
const playing = before.spans.filter(x => x.pick >= 0 && x.start <= r && x.end > r).pop();
document.getElementById('b-on').click();
const after = t.state().music.spans.find(x => playing && x.track === playing.track && x.start === playing.start);
return after ? after.end - after.fade_out - r : null; }"""


def processes_below(root: int) -> list[int]:
    """A process and all that it started."""
    parents: dict[int, list[int]] = {}
    for entry in Path("/proc").iterdir():
        if entry.name.isdigit():
            try:
                fields = (entry / "stat").read_text().rsplit(")", 1)[1].split()
            except OSError:
                continue
            parents.setdefault(int(fields[1]), []).append(int(entry.name))
    found, open_ = [], [root]
    while open_:
        found.append(open_.pop())
        open_ += parents.get(found[-1], [])
    return found


def used_by(pids: list[int]) -> dict[str, tuple[float, float]]:
    """Proportional memory in MB and processor seconds, by kind of process ("renderer", "browser", ...)."""
    tick, sums = os.sysconf("SC_CLK_TCK"), {}
    for pid in pids:
        try:
            command = Path(f"/proc/{pid}/cmdline").read_bytes().decode(errors="replace")
            fields = Path(f"/proc/{pid}/stat").read_text().rsplit(")", 1)[1].split()
            memory = next(
                int(line.split()[1])
                for line in Path(f"/proc/{pid}/smaps_rollup").read_text().splitlines()
                if line.startswith("Pss:")
            )
        except (OSError, StopIteration):
            continue
        if "chrom" not in command:
            continue
        kind = command.split("--type=")[1].split("\0")[0].split(" ")[0] if "--type=" in command else "browser"
        had = sums.get(kind, (0.0, 0.0))
        sums[kind] = (had[0] + memory / 1024, had[1] + (int(fields[11]) + int(fields[12])) / tick)
    return sums


def main(page_file: Path, minutes: float, out: Path) -> None:
    from playwright.sync_api import sync_playwright

    rng, waits, lines = random.Random(3), [], []
    with sync_playwright() as play:
        browser = play.chromium.launch(executable_path=shutil.which("chromium"), args=ARGS)
        page = browser.new_page()
        errors: list[str] = []
        page.on("pageerror", lambda error: errors.append(str(error)))
        page.goto(page_file.absolute().as_uri() + "#clock")
        while page.evaluate("document.documentElement.dataset.ready") != "yes":
            time.sleep(0.2)
        page.click("#b-run")
        time.sleep(5)
        began, at_start = time.monotonic(), used_by(processes_below(os.getpid()))
        press_at = began + 120
        while time.monotonic() - began < minutes * 60:
            time.sleep(EVERY_S)
            used = used_by(processes_below(os.getpid()))
            seen = page.evaluate(LOOK)
            passed = time.monotonic() - began
            cores = sum(seconds - at_start.get(kind, (0, 0))[1] for kind, (_, seconds) in used.items()) / passed
            line = seen | {
                "passed_s": passed,
                "memory_mb": {kind: round(mb) for kind, (mb, _) in used.items()},
                "cores": cores,
                "errors": len(errors),
            }
            lines.append(line)
            with out.open("a") as file:
                file.write(json.dumps(line) + "\n")
            if seen["r"] > seen["end"]:  # On may have led into the rest: the class ends sooner then
                break
            if time.monotonic() > press_at:
                press_at += rng.uniform(90, 240)
                what = rng.choice(["stay", "stay", "on", "soft"])
                if what == "stay" and page.is_enabled("#b-stay"):
                    page.click("#b-stay")
                    time.sleep(rng.uniform(5, 30))
                    page.click("#b-stay")
                elif what == "on" and page.is_enabled("#b-on") and page.evaluate(LEFT) < MOST_LEFT_S:
                    waits.append(page.evaluate(ON))
                elif what == "soft" and page.is_enabled("#b-soft"):
                    page.keyboard.down("v")
                    time.sleep(4)
                    page.keyboard.up("v")
        browser.close()
    for name, values in (
        ("what is heard, behind what the clock shows", [line["behind"] for line in lines]),
        ("the sound's clock against the wall's", [lines[0]["zero"] - line["zero"] for line in lines]),
    ):
        low, high = (1000 * end for end in (min(values), max(values)))
        print(f"{minutes:g} minutes; {name}: from {low:.1f} to {high:.1f} ms")
    own = [line["memory_mb"].get("renderer", 0) for line in lines]
    print(f"memory of the page's own process: {max(own)} MB at most, {statistics.median(own):.0f} in the median")
    total = [sum(line["memory_mb"].values()) for line in lines]
    print(
        f"memory: {max(total)} MB at most, {statistics.median(total):.0f} in the median, all processes; processor {lines[-1]['cores']:.3f} of a core"
    )
    print(
        f"On: {[round(wait, 1) for wait in waits if wait is not None]} s to leaving; faults {lines[-1]['faults']}; errors {errors}"
    )


if __name__ == "__main__":
    main(
        Path(sys.argv[1]),
        float(sys.argv[2]) if len(sys.argv) > 2 else 90,
        Path(sys.argv[3] if len(sys.argv) > 3 else "class_in_real_time.jsonl"),
    )
