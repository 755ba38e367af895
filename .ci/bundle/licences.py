"""Write the licences of everything in the bundle: a page that lists the parts, and their texts.

    python licences.py FOLDER

Run in the environment that was bundled. The bundle as a whole is given under the GPL-3.0: PyAV's wheel holds FFmpeg
with x264 and x265 (GPL), mutagen is GPL-2.0-or-later. arcbed's own code stays MIT.
"""

import sys
from importlib import metadata
from pathlib import Path

NOT_IN_IT = {"pip", "setuptools", "wheel", "pyinstaller", "pyinstaller-hooks-contrib", "altgraph", "numba", "llvmlite"}
HEAD = """# What is in this bundle, and under which licences

arcbed is MIT. This bundle holds it together with the parts below. Two of them bind the whole: mutagen is
GPL-2.0-or-later, and PyAV's build of FFmpeg holds x264 and x265, which are GPL-2.0-or-later, beside LGPL-3.0 parts. So
**the bundle as a whole is given under the GNU General Public License, version 3**; its text is in `GPL-3.0.txt`.

Its source: each part's source archive of the version named here lies under its name on the Python Package Index;
arcbed's own is the source archive of the same version that is given beside this bundle, and builds it with
`python .ci/bundle/build.py`. Whoever gives you the bundle owes you that source too, for three years, on request.

| part | version | licence as its makers state it |
|---|---|---|
"""


def main(folder: Path) -> None:
    """Write `LICENCES.md` and the folder `licences`."""
    rows, texts = [], folder / "licences"
    texts.mkdir(exist_ok=True)
    for part in sorted(metadata.distributions(), key=lambda each: each.name.lower()):
        if part.name.lower() in NOT_IN_IT:
            continue
        rows.append(f"| {part.name} | {part.version} | {stated(part)} |")
        for number, file in enumerate(papers(part)):
            target = texts / f"{part.name}-{number}-{Path(file).stem}.txt"
            target.write_bytes(Path(str(part.locate_file(file))).read_bytes())
    python = Path(sys.base_prefix)
    for name in ("LICENSE.txt", f"lib/python{sys.version_info.major}.{sys.version_info.minor}/LICENSE.txt"):
        if (python / name).is_file():
            (texts / "Python-LICENSE.txt").write_bytes((python / name).read_bytes())
    rows.append(f"| Python | {sys.version.split()[0]} | PSF-2.0 |")
    (folder / "LICENCES.md").write_text(HEAD + "\n".join(rows) + "\n", encoding="utf-8")
    gpl = Path(__file__).with_name("GPL-3.0.txt")
    (folder / gpl.name).write_bytes(gpl.read_bytes())


def stated(part: metadata.Distribution) -> str:
    """The licence in a part's own words: its expression, else its classifiers, else the first line of the old field."""
    known = part.metadata
    classifiers = [
        each.rpartition(" :: ")[2] for each in known.get_all("Classifier") or () if each.startswith("License ::")
    ]
    old = (known.get("License") or "").strip().splitlines()
    return known.get("License-Expression") or ", ".join(classifiers) or (old[0] if old else "see its texts")


def papers(part: metadata.Distribution) -> list[metadata.PackagePath]:
    """The licence texts that a part brings."""
    names = ("licen", "copying", "notice")
    return [file for file in part.files or () if file.name.lower().startswith(names) and "dist-info" in str(file)]


if __name__ == "__main__":
    main(Path(sys.argv[1]))
