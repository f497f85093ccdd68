"""Completion in the shell: the scripts load, and what they ask for is answered."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

from inkaccord.cli.main import COMMANDS
from outside import need_program

VARIABLE = "_INKACCORD_COMPLETE"


@pytest.fixture
def program(tmp_path: Path) -> dict[str, str]:
    """Put the command on the path, as an installation does; return the environment for it."""
    script = tmp_path / "bin" / "inkaccord"
    script.parent.mkdir()
    script.write_text(
        f"#!{sys.executable}\nfrom inkaccord.cli.main import main\nmain()\n", encoding="utf-8"
    )
    script.chmod(0o755)
    return {**os.environ, "PATH": f"{script.parent}{os.pathsep}{os.environ['PATH']}"}


def ask(program: dict[str, str], shell: str, words: str, at: int) -> list[str]:
    """Ask as the shell's script does; return the lines of the answer."""
    current = words.split(" ")[at] if shell == "fish" else str(at)
    answer = subprocess.run(
        ["inkaccord"],
        env={**program, VARIABLE: f"{shell}_complete", "COMP_WORDS": words, "COMP_CWORD": current},
        capture_output=True,
        text=True,
        check=True,
    )
    assert answer.stderr == ""
    return answer.stdout.splitlines()


@pytest.mark.slow
def test_bash_is_told_commands_their_parts_options_and_choices(program):
    assert ask(program, "bash", "inkaccord ", 1) == [f"plain,{name}" for name in COMMANDS]
    asked = ["plain,restore", "plain,retire", "plain,returned"]
    assert ask(program, "bash", "inkaccord shelf re", 2) == asked
    assert ask(program, "bash", "inkaccord run --wa", 2) == ["plain,--watch"]
    assert ask(program, "bash", "inkaccord schema ", 2) == ["plain,order", "plain,run"]
    assert ask(program, "bash", "inkaccord run mem", 2) == ["file,mem"]
    assert ask(program, "bash", "inkaccord run --out x", 3) == ["dir,x"]


def test_zsh_and_fish_are_told_what_each_is_for(program):
    assert ask(program, "zsh", "inkaccord rec", 1)[:3] == ["plain", "record", COMMANDS["record"]]
    assert f"plain,check\t{COMMANDS['check']}" in ask(program, "fish", "inkaccord c", 1)


@pytest.mark.parametrize(
    ("shell", "line", "expected"),
    [
        (
            "bash",
            'eval "$(_INKACCORD_COMPLETE=bash_source inkaccord)"; COMP_WORDS=(inkaccord reco); '
            'COMP_CWORD=1; _inkaccord_completion inkaccord; echo "${COMPREPLY[@]}"',
            "record recolour",
        ),
        (
            "zsh",
            "autoload -U compinit; compinit -u; "
            'eval "$(_INKACCORD_COMPLETE=zsh_source inkaccord)"; '
            "print ${_comps[inkaccord]}",
            "_inkaccord_completion",
        ),
        (
            "fish",
            "_INKACCORD_COMPLETE=fish_source inkaccord | source; complete -C 'inkaccord shelf li'",
            "list\tList the sheets",
        ),
    ],
)
def test_the_line_of_the_readme_works_in_the_shell_itself(program, shell, line, expected):
    need_program(shell)
    command = [shell, "-f", "-c", line] if shell == "zsh" else [shell, "-c", line]
    done = subprocess.run(command, env=program, capture_output=True, text=True, check=True)
    assert expected in done.stdout


@pytest.mark.parametrize("shell", ["bash", "zsh", "fish"])
def test_the_readme_says_how(shell):
    readme = (Path(__file__).parents[2] / "README.md").read_text("utf-8")
    assert f"{shell}_source" in readme
