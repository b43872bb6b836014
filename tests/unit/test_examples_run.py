# SPDX-License-Identifier: MIT
"""The example scripts and the README's own code run, and the README shows real output."""

from __future__ import annotations

import re
import runpy
from pathlib import Path

import pytest

import middlecut as mc

ROOT = Path(__file__).resolve().parents[2]
SCRIPTS = sorted((ROOT / "examples").glob("*.py"))


@pytest.mark.parametrize("script", SCRIPTS, ids=lambda path: path.name)
def test_example_scripts_run(script: Path, capsys: pytest.CaptureFixture[str]) -> None:
    runpy.run_path(str(script), run_name="__main__")
    assert capsys.readouterr().out.strip()


def test_a_lower_power_gives_stronger_hearts_and_a_longer_run(
    capsys: pytest.CaptureFixture[str],
) -> None:
    # Issue: lowering the power at fixed head loss must raise strength and lengthen the run.
    runpy.run_path(str(ROOT / "examples" / "compare_powers.py"), run_name="__main__")
    lines = capsys.readouterr().out.splitlines()
    strengths = [float(re.findall(r"at ([\d.]+) % vol", line)[0]) for line in lines]
    hours = [float(re.findall(r"([\d.]+) h$", line)[0]) for line in lines]
    assert strengths == sorted(strengths)
    assert hours == sorted(hours)
    assert strengths[0] < strengths[-1]


def code_blocks(page: str, language: str) -> list[str]:
    text = (ROOT / page).read_text(encoding="utf-8")
    return re.findall(rf"```{language}\n(.*?)```", text, re.DOTALL)


@pytest.mark.parametrize("page", ["README.md", "docs/how-to/use-from-python.md"])
def test_python_in_the_pages_runs(
    page: str,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
    tmp_path: Path,
) -> None:
    monkeypatch.chdir(tmp_path)
    plan = mc.example_path().read_text(encoding="utf-8")
    (tmp_path / "mine.toml").write_text(plan, encoding="utf-8")
    names: dict[str, object] = {}
    for block in code_blocks(page, "python"):
        exec(compile(block, page, "exec"), names)  # noqa: S102 - our own page
    assert "hearts" in names
    assert "L at" in capsys.readouterr().out


def test_the_excerpt_in_the_readme_is_what_the_demo_prints() -> None:
    (block,) = re.findall(
        r"<!-- excerpt of: middlecut demo -->\n```\n(.*?)```",
        (ROOT / "README.md").read_text(encoding="utf-8"),
        re.DOTALL,
    )
    sheet = mc.render_text(mc.make_sheet(mc.predict(mc.load_plan(mc.example_path()))))
    assert block in sheet, "run: make docs"


def test_links_in_the_pages_lead_somewhere() -> None:
    broken = [
        f"{page.relative_to(ROOT)}: {target}"
        for page in [ROOT / "README.md", *sorted((ROOT / "docs").rglob("*.md"))]
        for target in re.findall(r"\]\(([^)#:]+)(?:#[^)]*)?\)", page.read_text(encoding="utf-8"))
        if not (page.parent / target).exists()
    ]
    assert broken == []
