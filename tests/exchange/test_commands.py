"""The register from the command line: out, in and checked."""

from __future__ import annotations

from io import StringIO

import pytest
from django.core.management import CommandError, call_command

from register.exchange.demo import WORKBOOK
from register.models import Finding, Loop
from tests.exchange.workbooks import changed, workbook

pytestmark = pytest.mark.django_db


def said(*arguments: str) -> str:
    out = StringIO()
    call_command(*arguments, stdout=out)
    return out.getvalue()


@pytest.fixture
def planner(person) -> str:
    return person("planner").username


def test_the_demo_goes_in_and_comes_out_as_the_same_file(planner, tmp_path):
    counts = said("import_register", str(WORKBOOK), "--by", planner)
    assert "Loops: 73 added, 0 changed, 0 unchanged" in counts
    target = tmp_path / "register.xlsx"
    assert said("export_register", str(target)).startswith(f"Wrote {target} (")
    assert target.read_bytes() == WORKBOOK.read_bytes()
    assert [path.name for path in tmp_path.iterdir()] == ["register.xlsx"]


def test_every_problem_is_written_out_and_nothing_imported(planner, tmp_path):
    file = tmp_path / "plant.xlsx"
    rows = changed("Tags", 3, Role="gauge")
    rows["Loops"][0]["Kind"] = "loop"
    file.write_bytes(workbook(rows))
    problems = StringIO()
    with pytest.raises(CommandError, match="2 problems were found"):
        call_command("import_register", str(file), "--by", planner, stderr=problems)
    assert problems.getvalue().splitlines()[0] == (
        "sheet Loops, row 2, Kind: “loop”: It must be one of: control, indication, alarm, trip."
    )
    assert not Loop.objects.exists()


def test_whoever_is_named_must_exist_and_be_allowed(person, tmp_path):
    file = tmp_path / "plant.xlsx"
    file.write_bytes(workbook())
    with pytest.raises(CommandError, match="Nobody signs in as “nobody”"):
        said("import_register", str(file), "--by", "nobody")
    with pytest.raises(CommandError, match="These roles may: planner, administrator"):
        said("import_register", str(file), "--by", person("auditor").username)


def test_a_file_that_is_not_there_is_told_so(planner, tmp_path):
    missing = tmp_path / "missing" / "plant.xlsx"
    with pytest.raises(CommandError, match="cannot be read"):
        said("import_register", str(missing), "--by", planner)
    with pytest.raises(CommandError, match="cannot be written"):
        said("export_register", str(missing))


def test_the_whole_plant_is_checked_and_counted(planner):
    said("import_register", str(WORKBOOK), "--by", planner)
    open_findings = list(Finding.objects.open().values_list("severity", "unknown"))
    Finding.objects.all().delete()
    told = said("check_plant").splitlines()
    assert told[0] == "73 of 73 loops checked"
    for severity in ("error", "warning", "advice"):
        assert f"{severity}: {open_findings.count((severity, False))}" in told
    assert f"cannot tell: {sum(unknown for _, unknown in open_findings)}" in told
    assert Finding.objects.open().count() == len(open_findings)
