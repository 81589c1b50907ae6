"""`Glance`: what the start page shows of a program that was judged before, kept in small files.

Read before the first paint: nothing heavy is imported here.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Collection
from dataclasses import asdict, dataclass, fields
from pathlib import Path
from typing import Final, Literal

Answered = Literal["no", "look", "not known", "yes"]
ANSWERED: Final[tuple[Answered, ...]] = ("no", "look", "not known", "yes")
"""Values of `viewer.verdict.Word`, which would bring the engine."""
PICTURE_PX: Final = (240, 180)
"""Width and height: twice what the start page shows at usual text, for screens with two pixels a dot."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Glance:
    """One program as it was judged last."""

    answer: Answered
    """The worst of the seven answers."""
    words: str
    """What decides it, in few words."""
    amounts: str
    """Time and cost, and the cards that they are computed with."""
    modified_ns: int
    size_bytes: int
    """Of the file that was judged: another file of the same name gets another picture."""


class Glances:
    """The files in which glances are kept, three for each program: what was answered, and a picture for each look.

    Parameters
    ----------
    folder
        Made when there is something to keep.
    """

    def __init__(self, folder: Path) -> None:
        self._folder = folder

    def read(self, program: Path) -> Glance | None:
        """Return what is kept of a program; None where that is nothing, or was written by another version."""
        try:
            kept = json.loads(self._file(program, ".json").read_text("utf-8"))
            if set(kept) != {field.name for field in fields(Glance)} or kept["answer"] not in ANSWERED:
                return None
            return Glance(**kept)
        except (OSError, ValueError, TypeError):
            return None

    def picture(self, program: Path, dark: bool) -> Path:
        """Return where the picture of a program lies, if there is one."""
        return self._file(program, ".dark.png" if dark else ".light.png")

    def write(self, program: Path, glance: Glance, pictures: tuple[bytes, bytes] | None) -> None:
        """Keep what is to be known of a program.

        Parameters
        ----------
        pictures
            Light and dark, as PNG; None: they stay as they are.

        Raises
        ------
        OutputError
            It could not be written.
        OSError
            The folder could not be made.
        """
        from viewer.written import write_whole

        self._folder.mkdir(parents=True, exist_ok=True)
        for dark, picture in enumerate(pictures or ()):
            write_whole(self.picture(program, bool(dark)), [picture])
        write_whole(self._file(program, ".json"), [json.dumps(asdict(glance))])

    def has_pictures(self, program: Path) -> bool:
        """Whether there is a picture for each look."""
        return all(self.picture(program, dark).is_file() for dark in (False, True))

    def forget_others(self, programs: Collection[Path]) -> None:
        """Delete what is kept of programs other than these."""
        kept = {_stem(program) for program in programs}
        for file in self._folder.glob("*.*"):
            if file.name.partition(".")[0] not in kept and file.suffix in (".json", ".png"):
                file.unlink(missing_ok=True)

    def _file(self, program: Path, ending: str) -> Path:
        return self._folder / f"{_stem(program)}{ending}"


def _stem(program: Path) -> str:
    return hashlib.sha256(str(program).encode("utf-8", "surrogateescape")).hexdigest()[:24]
