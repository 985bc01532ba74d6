#!/usr/bin/env python3
"""Measures turfplat on an invented county: beside a geopandas pipeline, or how cost grows.

Use scripts/bench, which builds and installs what this needs.
"""

import argparse
import csv
import filecmp
import os
import platform
import shutil
import statistics
import subprocess
import sys
from pathlib import Path

SCRIPTS = Path(__file__).parent
SETBACKS = ["--setback", "water=25ft", "--setback", "well=100ft"]

# What --require asks for: how many times as fast as the pipeline on so many threads, and the peak.
LEAST_RATIO = {1: 5.0, 2: 10.0}
MOST_MEGABYTES = 64.0

# How far an area may be from the other side's, in m²: 256 chords a quarter circle cut off
# about 6e-6 of what lies within it, and the other side's CSV has six decimals.
ALLOWED_OF_GROSS, ALLOWED = 1e-5, 0.02


# Starts a command and prints what it took: seconds, CPU seconds, peak and exit status. A process of
# its own with next to nothing loaded, because the peak that the kernel tells of a process is never
# less than that of the process that started it.
METER = """
import posix, sys, time
begin = time.monotonic()
to_log = [(posix.POSIX_SPAWN_DUP2, 2, 1)]
child = posix.posix_spawn(sys.argv[1], sys.argv[1:], posix.environ, file_actions=to_log)
_, status, usage = posix.wait4(child, 0)
wall = time.monotonic() - begin
cpu = usage.ru_utime + usage.ru_stime
print(wall, cpu, usage.ru_maxrss, posix.waitstatus_to_exitcode(status))
"""


class Run:
    """One process from start to end: seconds, CPU seconds, peak in MB of 10⁶ bytes."""

    def __init__(self, command, log):
        command = [str(word) for word in command]
        command[0] = shutil.which(command[0]) or command[0]
        with open(log, "wb") as remarks:
            meter = subprocess.run(
                [sys.executable, "-I", "-S", "-c", METER, *command],
                stdin=subprocess.DEVNULL,
                stdout=subprocess.PIPE,
                stderr=remarks,
                text=True,
            )
        wall, cpu, peak, status = meter.stdout.split() or (0, 0, 0, f"{meter.returncode} (meter)")
        if status != "0":
            tail = Path(log).read_text(errors="replace")[-2000:]
            sys.exit(f"bench: exit status {status} of: {' '.join(command)}\n{tail}")
        self.wall, self.cpu = float(wall), float(cpu)
        # Linux counts in KiB, macOS in bytes.
        self.peak = float(peak) * (1 if sys.platform == "darwin" else 1024) / 1e6


class Runs:
    """The same process several times; every figure is the median."""

    def __init__(self):
        self.runs = []

    def add(self, run):
        self.runs.append(run)

    def of(self, figure):
        return statistics.median(getattr(run, figure) for run in self.runs)

    def walls(self):
        walls = [run.wall for run in self.runs]
        return f"{min(walls):.2f}–{max(walls):.2f}"


def draw_county(options, name, *arguments):
    """Draws a county; returns its file and what the generator says of it."""
    file, part = options.folder / name, options.folder / f"{name}.part"
    command = [options.county, part, *map(str, arguments)]
    said = subprocess.run(command, check=True, capture_output=True, text=True).stdout.strip()
    os.replace(part, file)
    return file, said


def measure(options, county, threads):
    """Measures a county once; returns the run and the file of its areas."""
    areas = options.folder / f"areas-{threads}.csv"
    areas.unlink(missing_ok=True)
    command = [options.turfplat, "measure", county, *SETBACKS, "--format", "csv"]
    command += ["-o", areas, "--threads", str(threads)]
    return Run(command, options.folder / f"turfplat-{threads}.log"), areas


def pipeline(options, county, segments):
    """Runs the other side once; returns the run, the file of its areas and its steps in seconds."""
    areas, log = options.folder / f"areas-geopandas-{segments}.csv", options.folder / "geopandas.log"
    areas.unlink(missing_ok=True)
    python = options.folder / "venv/bin/python"
    script = SCRIPTS / "geopandas_pipeline.py"
    run = Run([python, script, county, areas, "--segments", str(segments)], log)
    steps = dict(step.split("=") for step in log.read_text().splitlines()[-1].split())
    return run, areas, {step: float(took) for step, took in steps.items()}


def output_of(*command):
    try:
        return subprocess.run(command, check=True, capture_output=True, text=True).stdout.strip()
    except (OSError, subprocess.CalledProcessError):
        return "?"


def machine():
    model = platform.processor() or platform.machine()
    cpuinfo = Path("/proc/cpuinfo")
    if cpuinfo.exists():
        names = [line for line in cpuinfo.read_text().splitlines() if line.startswith("model name")]
        model = names[0].split(":", 1)[1].strip() if names else model
    memory = os.sysconf("SC_PAGE_SIZE") * os.sysconf("SC_PHYS_PAGES") / 1e9
    load = os.getloadavg()[0]
    return (
        f"{model}, {os.cpu_count()} cores, {memory:.0f} GB, {platform.system()} "
        f"{platform.release()}; load before the first run {load:.1f}"
    )


def our_version(options):
    root = str(SCRIPTS.parent)
    commit = output_of("git", "-C", root, "rev-parse", "--short", "HEAD")
    changed = output_of("git", "-C", root, "status", "--porcelain", "--untracked-files=no")
    return (
        f"{output_of(options.turfplat, '--version')} at {commit}{' and changes' if changed else ''}, "
        f"{output_of('rustc', '--version')}"
    )


def their_version(options):
    code = (
        "import geopandas, numpy, pandas, platform, pyogrio, pyproj, shapely as s;"
        "print(f'Python {platform.python_version()}, geopandas {geopandas.__version__}, shapely "
        "{s.__version__} (GEOS {s.geos_version_string}), pyogrio {pyogrio.__version__} (GDAL "
        "{pyogrio.__gdal_version_string__}), pyproj {pyproj.__version__} (PROJ "
        "{pyproj.proj_version_str}), numpy {numpy.__version__}, pandas {pandas.__version__}')"
    )
    return output_of(options.folder / "venv/bin/python", "-c", code)


def say_where(options, other_side):
    print(f"machine:   {machine()}")
    print(f"this side: {our_version(options)}")
    if other_side:
        print(f"other:     {their_version(options)}")
    nothing = Run(["true"], options.folder / "true.log")
    print(f"peaks:     in MB of 10⁶ bytes; a process that does nothing shows {nothing.peak:.0f}")


def areas_by_zone(file, gross, net):
    areas = {}
    with open(file, newline="", encoding="utf-8") as rows:
        for row in csv.DictReader(rows):
            zone = (row["property"], row["zone"])
            if zone in areas:
                sys.exit(f"bench: {file} has {zone[0]}, {zone[1]} twice")
            areas[zone] = (float(row[gross]), float(row[net]))
    return areas


def check(ours, theirs):
    """Holds every zone's areas to the other side's; returns what is wrong."""
    ours = areas_by_zone(ours, "gross_area_m2", "net_area_m2")
    theirs = areas_by_zone(theirs, "gross", "net")
    wrong = []
    for whose, missing in (("here", theirs.keys() - ours), ("there", ours.keys() - theirs)):
        if missing:
            property_, zone = min(missing)
            wrong.append(f"zones missing {whose}: {len(missing)}, {property_}, {zone} first")
    both = sorted(ours.keys() & theirs.keys())
    if not both:
        return [*wrong, "there is no zone to compare"]
    for index, what in enumerate(("gross", "net")):

        def share(zone):
            """How far off, as a share of what is allowed; not a number counts as far off."""
            allowed = ALLOWED_OF_GROSS * theirs[zone][0] + ALLOWED
            off = abs(ours[zone][index] - theirs[zone][index]) / allowed
            return off if off == off else float("inf")

        worst = max(both, key=share)
        beyond = sum(share(zone) > 1 for zone in both)
        here, there = ours[worst][index], theirs[worst][index]
        print(
            f"{what + ':':6} worst of {len(both)} zones is {worst[0]}, {worst[1]}: {here:.4f} m² here, "
            f"{there:.4f} m² there, off by {here - there:+.4f} m² ({100 * share(worst):.0f} % of what is "
            f"allowed); all {sum(zone[index] for zone in ours.values()):.1f} here, "
            f"{sum(zone[index] for zone in theirs.values()):.1f} there"
        )
        if beyond:
            wrong.append(f"zones whose {what} area is off by more than is allowed: {beyond}")
    return wrong


def compare(options):
    properties = options.properties
    county, said = draw_county(options, "county.geojson", "--properties", properties, "--seed", 1)
    print(f"map:       {said}, {county.stat().st_size / 1e6:.0f} MB")
    say_where(options, other_side=True)

    mine = {1: Runs(), 2: Runs()}
    other, imports, steps = Runs(), [], {}
    # In turn, so that a slow minute of the machine falls on all.
    for _ in range(options.runs):
        for threads, runs in mine.items():
            runs.add(measure(options, county, threads)[0])
        run, _, steps = pipeline(options, county, 16)
        other.add(run)
        imports.append(steps["import"])
    imports = statistics.median(imports)

    print(f"\nMedians of {options.runs} runs, least and most wall time beside.\n")
    print("| what | wall s | from–to | CPU s | peak MB | properties/s | times as fast | imports apart |")
    print("| --- | --- | --- | --- | --- | --- | --- | --- |")
    missed = []
    for what, runs, threads in (
        ("geopandas, 16 chords a quarter", other, None),
        ("turfplat, 1 thread", mine[1], 1),
        ("turfplat, 2 threads", mine[2], 2),
    ):
        wall, peak = runs.of("wall"), runs.of("peak")
        ratio, apart = other.of("wall") / wall, (other.of("wall") - imports) / wall
        print(
            f"| {what} | {wall:.2f} | {runs.walls()} | {runs.of('cpu'):.2f} | {peak:.0f} "
            f"| {properties / wall:,.0f} | {ratio if threads else 1:.1f} | {apart if threads else 1:.1f} |"
        )
        # The other side is given its imports, so that a small map is no advantage.
        if threads and apart < LEAST_RATIO[threads]:
            missed.append(f"{what}: {apart:.1f} times as fast, {LEAST_RATIO[threads]:.0f} asked for")
        if threads and peak > MOST_MEGABYTES:
            missed.append(f"{what}: {peak:.0f} MB at its peak, {MOST_MEGABYTES:.0f} asked for")
    print(f"\nsteps of geopandas, last run, s: {' '.join(f'{k} {v:.2f}' for k, v in steps.items())}")

    print("\nAreas against geopandas with 256 chords a quarter:\n")
    _, theirs, _ = pipeline(options, county, 256)
    ours, on_two_threads = (options.folder / f"areas-{threads}.csv" for threads in mine)
    wrong = check(ours, theirs)
    if not filecmp.cmp(ours, on_two_threads, shallow=False):
        wrong.append("one and two threads give different files")
    for what in wrong:
        print(f"WRONG: {what}")
    for what in missed:
        print(f"{'MISSED' if options.require else 'below target'}: {what}")
    if wrong or (options.require and missed):
        return 1
    print("\nEvery zone agrees.")
    return 0


def growth(options):
    """Prints how wall time and peak grow with the map, each table with one thing growing."""
    say_where(options, other_side=False)
    base = options.properties

    def table(title, rows):
        print(f"\n{title}\n")
        print(
            "| map | properties | features | corners | MB | 1 thread s | 2 threads s "
            "| µs a corner | peak MB, 1 thread | 2 threads |"
        )
        print("| --- | --- | --- | --- | --- | --- | --- | --- | --- | --- |")
        for what, properties, *arguments in rows:
            county, said = draw_county(
                options, "growing.geojson", "--properties", properties, *arguments
            )
            features, corners = (int(part.split()[0]) for part in said.split(", ")[1:])
            size = county.stat().st_size / 1e6
            runs = {1: Runs(), 2: Runs()}
            for _ in range(options.runs):
                for threads in runs:
                    runs[threads].add(measure(options, county, threads)[0])
            county.unlink()
            one, two = runs[1], runs[2]
            print(
                f"| {what} | {properties} | {features} | {corners} | {size:.1f} "
                f"| {one.of('wall'):.3f} | {two.of('wall'):.3f} "
                f"| {1e6 * one.of('wall') / corners:.2f} "
                f"| {one.of('peak'):.0f} | {two.of('peak'):.0f} |",
                flush=True,
            )

    def some(share):
        return max(1, round(base * share))

    table("More properties", [(f"× {n:g}", some(n / 8)) for n in (1, 2, 4, 8, 16)])
    table(
        "More corners on every outline",
        # Two more decimals, so that corners so near each other do not fall together.
        [(f"× {n}", some(1 / 80), "--corners", n, "--decimals", 10) for n in (1, 4, 16, 64)],
    )
    table(
        "More ponds and wells within reach of every property",
        [(f"+ {n}", some(1 / 1000), "--hazards", n) for n in (0, 10, 100, 1000)],
    )
    table(
        "Features of a property together, and as far apart as they can be",
        [("in order", base), ("scattered", base, "--scattered")],
    )
    return 0


def count(text):
    number = int(text)
    if number < 1:
        raise argparse.ArgumentTypeError(f"{text} is less than one")
    return number


def main():
    arguments = sys.argv[1:]
    growing = arguments[:1] == ["growth"]
    parser = argparse.ArgumentParser(
        prog="scripts/bench",
        usage="scripts/bench [--require] [--runs N] [PROPERTIES]\n"
        "       scripts/bench growth [--runs N] [PROPERTIES]",
        description="Measures turfplat beside a geopandas pipeline on the same map and checks every "
        "zone's areas against it; growth measures turfplat alone, on maps that grow.",
        epilog="TURFPLAT=path/to/turfplat measures that command and builds none.",
    )
    parser.add_argument(
        "properties",
        metavar="PROPERTIES",
        nargs="?",
        type=count,
        default=os.environ.get("PROPERTIES", "20000"),
        help="how many properties [default: $PROPERTIES, else 20000]",
    )
    parser.add_argument(
        "--runs", metavar="N", type=count, default=3, help="runs of each [default: 3]"
    )
    parser.add_argument(
        "--require",
        action="store_true",
        help="fail unless 10 times as fast on two threads, 5 times on one, within 64 MB",
    )
    for name in ("turfplat", "county", "folder"):
        parser.add_argument(f"--{name}", type=Path, help=argparse.SUPPRESS)
    options = parser.parse_args(arguments[growing:])
    if growing and options.require:
        parser.error("growth requires nothing")
    if None in (options.turfplat, options.county, options.folder):
        parser.error("start scripts/bench, which builds what this needs")
    return growth(options) if growing else compare(options)


sys.exit(main())
