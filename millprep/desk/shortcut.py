"""A picture on the person's desktop that starts the desk without a terminal."""

from __future__ import annotations

import base64
import os
import plistlib
import re
import shlex
import subprocess
import sys
from contextlib import suppress
from pathlib import Path

from millprep.base.findings import stopped
from millprep.desk.places import NEW_FOLDER, desktop, documents, is_too_wide, menu

_PICTURE = Path(__file__).parent / "static" / "desk.svg"


def make_shortcut(folder: Path | None = None, system: str = sys.platform) -> list[str]:
    """Put it there; says where. folder : to be served; None for one that the page asks for

    Raises MillprepError where it cannot be written, or where the folder is none to serve.
    """
    if folder is not None and (is_too_wide(folder) or not folder.is_dir()):
        remedy = f'a folder for the part files, such as "{documents() / NEW_FOLDER}"'
        said = "is no folder to serve, or is the home folder as a whole"
        raise stopped("unreadable-file", said, remedy, file=str(folder))
    # -P: no module is looked for in the folder that it happens to start in
    words = ["-P", "-m", "millprep", "desk", *([] if folder is None else [str(folder.resolve())])]
    where = desktop()
    try:
        where.mkdir(parents=True, exist_ok=True)
        if system == "win32":
            told = [_windows(where / f"{NEW_FOLDER}.lnk", words)]
        elif system == "darwin":
            told = [_mac(where / f"{NEW_FOLDER}.app", words)]
        else:
            told = _linux(where / "mill-sheets.desktop", words)
    except OSError as error:
        said = f"the shortcut cannot be written: {error.strerror}"
        raise stopped("output-refused", said, "make room on the desktop", str(where)) from None
    if not _is_installed():
        told.append("it starts nothing yet: install millprep first, pip install . in its folder")
    return told


def _is_installed() -> bool:
    """Whether this Python has the package wherever it starts, and not in this folder alone."""
    plain = {name: value for name, value in os.environ.items() if name != "PYTHONPATH"}
    asks = [sys.executable, "-P", "-c", "import millprep"]
    ran = subprocess.run(asks, cwd=Path.home(), env=plain, capture_output=True, check=False)
    return ran.returncode == 0


def _linux(file: Path, words: list[str]) -> list[str]:
    """A desktop entry (freedesktop.org, Desktop Entry Specification 1.5), on the desktop and in the
    menu: not every desktop shows what lies on it."""
    run = " ".join(_quoted(word) for word in (sys.executable, *words))
    entry = (
        "[Desktop Entry]\nType=Application\nVersion=1.5\n"
        f"Name={NEW_FOLDER}\nComment=Sheets for the mill, on this PC\n"
        f"Exec={run}\nPath={_escaped(str(Path.home()))}\nIcon={_escaped(str(_PICTURE))}\n"
        "Terminal=false\nCategories=Utility;\n"
    )
    menu().mkdir(parents=True, exist_ok=True)
    told = []
    for path in (file, menu() / file.name):
        path.write_text(entry, encoding="utf-8")
        path.chmod(0o755)
        told.append(f"{path}: written")
    with suppress(OSError, subprocess.TimeoutExpired):  # one desktop asks whether it is trusted
        trust = ["gio", "set", str(file), "metadata::trusted", "true"]
        subprocess.run(trust, capture_output=True, timeout=10, check=False)
    return told


def _mac(bundle: Path, words: list[str]) -> str:
    """An application bundle that runs a script: no window of a terminal."""
    inside = bundle / "Contents"
    (inside / "MacOS").mkdir(parents=True, exist_ok=True)
    about = {
        "CFBundleName": NEW_FOLDER,
        "CFBundleIdentifier": "millprep.desk",
        "CFBundleExecutable": "desk",
        "CFBundlePackageType": "APPL",
        "LSUIElement": True,
    }
    (inside / "Info.plist").write_bytes(plistlib.dumps(about))
    script = inside / "MacOS" / "desk"
    run = shlex.join([sys.executable, *words])
    script.write_text(f'#!/bin/sh\ncd "$HOME" || exit 1\nexec {run}\n', encoding="utf-8")
    script.chmod(0o755)
    return f"{bundle}: written"


def _windows(file: Path, words: list[str]) -> str:
    """A link to the Python that opens no window; the system's own shell writes it."""
    python = Path(sys.executable).with_name("pythonw.exe")
    script = link_script(file, python, subprocess.list2cmdline(words))
    coded = base64.b64encode(script.encode("utf-16-le")).decode()
    command = ["powershell", "-NoProfile", "-NonInteractive", "-EncodedCommand", coded]
    ran = subprocess.run(command, capture_output=True, timeout=60, check=False)
    if ran.returncode or not file.exists():
        raise OSError(0, "the system's shell did not write the link")
    return f"{file}: written"


def link_script(file: Path, target: Path, arguments: str) -> str:
    """What that shell is told."""

    def quoted(words: object) -> str:
        return "'" + str(words).replace("'", "''") + "'"

    return (
        "$ErrorActionPreference = 'Stop'\n"
        f"$link = (New-Object -ComObject WScript.Shell).CreateShortcut({quoted(file)})\n"
        f"$link.TargetPath = {quoted(target)}\n$link.Arguments = {quoted(arguments)}\n"
        f"$link.WorkingDirectory = {quoted(Path.home())}\n$link.Save()\n"
    )


def _escaped(words: str) -> str:
    """A string of a desktop entry."""
    return words.replace("\\", "\\\\").replace("\n", "\\n").replace("\t", "\\t")


def _quoted(word: str) -> str:
    """An argument of Exec: quoted, then escaped as a string is."""
    word = word.replace("%", "%%")
    if not re.fullmatch(r"[\w@+=:,./%-]+", word):
        word = '"' + re.sub(r'(["`$\\])', r"\\\1", word) + '"'
    return _escaped(word)
