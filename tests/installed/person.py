"""A person who knows nothing of inkaccord, types what the screen says, and prints what it asks for.

Nothing of inkaccord is imported here: the command is called as it is installed. Paper is printed
and read by the example's ``print_and_read.py``, whose printers are invented.
"""

import os
import re
import shlex
import subprocess
import sys
from dataclasses import dataclass, field
from pathlib import Path

INKACCORD = Path(os.environ.get("INKACCORD") or Path(sys.executable).with_name("inkaccord"))
"""The command under test: that of this environment, or the one that the environment names."""
EXAMPLES = Path(__file__).parents[2] / "jobs_example"
PRINT_AND_READ = EXAMPLES / "print_and_read.py"
WAITING = 3
"""The exit code of a run that waits for printed sheets, readings or picks."""


@dataclass(frozen=True)
class Said:
    """What a command answered."""

    words: tuple[str, ...]
    code: int
    out: str
    err: str

    @property
    def to_type(self) -> list[str]:
        """What the screen says to type, line by line: commands, and answers to its questions.

        Commands stand alone on a line or behind a colon. Of a question's choices it is the first
        that says what to write.
        """
        typed: list[str] = []
        choices: list[list[str]] = []
        for line in [*self.out.splitlines(), ""]:
            if re.match(r" {4}[a-z]\) ", line):
                choices.append([])
            elif choices and line.startswith(" " * 7):
                choices[-1].append(line.strip())
            else:
                typed += next(filter(None, choices), [])
                choices = []
                if command := re.fullmatch(r"(?: {4}|Next: |\S.*: )(inkaccord .*)", line):
                    typed.append(command[1])
        return typed


@dataclass
class Person:
    """Someone at a computer, in a folder, with a printer and an instrument.

    Attributes
    ----------
    home
        Where this person's own files are, the user data folder too.
    here
        The folder in which commands are typed.
    printed_on
        Which of the example's printers and stocks stand for the order's: device, and stock by
        the name that the order gives it. None where the order names the example's own.
    done
        Every command that was typed, as words.
    """

    home: Path
    here: Path
    printed_on: tuple[str, dict[str, str]] | None = None
    environment: dict[str, str] = field(default_factory=dict)
    done: list[tuple[str, ...]] = field(default_factory=list)

    def types(self, *words: object, code: int = 0, answers: str = "") -> Said:
        """Type a command, and answers to what it asks; it must end with this exit code."""
        said = self.tries(*words, answers=answers)
        assert said.code == code, f"{shlex.join(said.words)}: {said.code}\n{said.out}{said.err}"
        return said

    def tries(self, *words: object, answers: str = "") -> Said:
        """Type a command, however it ends."""
        typed = tuple(str(word) for word in words)
        ran = self._runs([INKACCORD, *typed], answers)
        self.done.append(typed)
        return Said(typed, ran.returncode, ran.stdout, ran.stderr)

    def prints_and_reads(self, table: Path) -> Path:
        """Print the sheet beside which this text file lies, read it, and return the readings."""
        stands_for: list[str] = []
        if self.printed_on is not None:
            device, stocks = self.printed_on
            pair = re.search(r'PAIR "[^@]*@([^"/]*)', table.read_text("utf-8"))
            assert pair is not None
            stands_for = ["--device", device, "--stock", stocks[pair[1]]]
        into = self.home / "readings"
        python = INKACCORD.with_name("python")
        ran = self._runs([python, PRINT_AND_READ, table, "--into", into, *stands_for])
        assert ran.returncode == 0, ran.stderr
        return into / table.name

    def follows(self, said: Said, *, most: int = 12) -> Said:
        """Do what the screen says, and nothing else, until it says nothing to type."""
        for _ in range(most):
            if not said.to_type:
                return said
            for line in said.to_type:
                if line.startswith("inkaccord "):
                    said = self._does(shlex.split(line)[1:])
                else:
                    self._answers(line, self.here / shlex.split(said.to_type[-1])[2])
        raise AssertionError(f"it goes on for ever:\n{said.out}")

    def _does(self, words: list[str]) -> Said:
        if "READINGS-FILE" in words:
            (table,) = self.here.rglob(f"samples/{words[1]}.txt")
            words[words.index("READINGS-FILE")] = str(self.prints_and_reads(table))
        said = self.tries(*words)
        assert said.code in {0, WAITING}, f"{shlex.join(words)}: {said.code}\n{said.out}{said.err}"
        return said

    def _answers(self, line: str, order: Path) -> None:
        """Write a line into the order file: at its end, or in the place of another."""
        answer = re.fullmatch(r"(.*?)(?: {3}\(change it in line (\d+)\))?", line)
        assert answer is not None
        file = order / "order.yaml"
        lines = file.read_text("utf-8").splitlines()
        if answer[2]:
            lines[int(answer[2]) - 1] = answer[1]
        else:
            lines.append(answer[1])
        file.write_text("\n".join([*lines, ""]), "utf-8")

    def opens(self, folder: str) -> "subprocess.Popen[str]":
        """Open a folder as a page; the first line that it says is the address."""
        typed = ("open", folder, "--no-browser")
        self.done.append(typed)
        return subprocess.Popen(
            [INKACCORD, *typed],
            cwd=self.here,
            env=self._own_environment,
            stdout=subprocess.PIPE,
            text=True,
        )

    @property
    def _own_environment(self) -> dict[str, str]:
        kept = {name: os.environ[name] for name in ("PATH", "LANG") if name in os.environ}
        own = {"HOME": str(self.home), "COLUMNS": "100", "OPENBLAS_NUM_THREADS": "1"}
        return kept | own | self.environment

    def _runs(self, words: list[object], answers: str = "") -> "subprocess.CompletedProcess[str]":
        return subprocess.run(
            [str(word) for word in words],
            cwd=self.here,
            env=self._own_environment,
            input=answers,
            capture_output=True,
            text=True,
            timeout=300,
            check=False,
        )
