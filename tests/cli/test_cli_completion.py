# SPDX-License-Identifier: MIT
"""What the Tab key offers."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from middlecut.liquid import ingredients
from middlecut.plan.examples import example_names

BIN = Path(sys.executable).with_name("middlecut")


def offered(words: str, shell: str = "bash") -> list[str]:
    zsh = {"_TYPER_COMPLETE_ARGS": words}
    bash = {"COMP_WORDS": words, "COMP_CWORD": str(words.count(" "))}
    named = {"_MIDDLECUT_COMPLETE": f"complete_{shell}", **(bash if shell == "bash" else zsh)}
    done = subprocess.run([BIN], capture_output=True, text=True, env={**os.environ, **named},
                          check=False, timeout=60)  # fmt: skip
    assert not done.stderr
    return done.stdout.splitlines()


def test_examples_are_offered() -> None:
    assert offered("middlecut demo ") == list(example_names())
    assert offered("middlecut demo dou") == ["double-pot-1300m"]


@pytest.mark.parametrize("words", ["middlecut pantry show caca", "middlecut route caca"])
def test_ingredients_are_offered_so_that_a_shell_takes_them(words: str) -> None:
    names = [name for name in ingredients.names() if name.startswith("caca")]
    found = offered(words)
    assert [one.replace("\\", "") for one in found] == names
    assert any("\\ " in one for one in found)


def test_another_shell_gets_the_names_as_they_are() -> None:
    found = "\n".join(offered("middlecut route caca", "zsh"))
    assert "\\ " not in found
    assert "cacao nibs, roasted" in found


def test_no_numerics_are_loaded_for_a_name() -> None:
    code = (
        "import sys; from middlecut.cli.completion import examples, ingredient_names; "
        "examples(''); ingredient_names(''); "
        "sys.exit(any(one in sys.modules for one in ('numpy', 'scipy', 'numba', 'pydantic')))"
    )
    subprocess.run([sys.executable, "-c", code], check=True, timeout=60)
