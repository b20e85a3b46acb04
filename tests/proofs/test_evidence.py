"""Files of evidence: what a stranger finds in the folder is enough to check the claim."""

from __future__ import annotations

import csv

import pytest
from dratify import check_proof, parse_dimacs_file

from gridcrux.grids.names import parse_candidate
from gridcrux.grids.text import read_puzzle
from gridcrux.proofs.evidence import write_evidence
from gridcrux.proofs.prove import prove

STATE = read_puzzle("1234 34.. 2... 4..1")
PROOF = prove(STATE, "r2c3!=2")


def write(folder, name="verdict"):
    return write_evidence(folder, name, PROOF.certificate, STATE, PROOF.claims, None)


def test_the_files_are_a_formula_and_a_proof_of_it(tmp_path):
    files = write(tmp_path / "new")
    formula = parse_dimacs_file(str(files["cnf"]), strict=True)
    assert len(formula) == len(PROOF.certificate.formula.clauses)
    assert check_proof(formula, files["drat"].read_text()).ok
    # Without its last clause, the denial, there is nothing wrong with the formula.
    lines = files["cnf"].read_text().splitlines()
    assert lines[-2:] == ["c denial", f"{parse_candidate(STATE.layout, 'r2c3=2') + 1} 0"]
    assert [line[2:] for line in lines if line.startswith("c")][1:] == [
        "conflicts",
        "rules",
        "closed",
        "denial",
    ]


def test_what_the_readme_says_to_do_checks_the_proof(tmp_path, monkeypatch, capsys):
    text = write(tmp_path)["readme"].read_text()
    code = [line[7:] for line in text.splitlines() if line.startswith(7 * " ")]
    assert len(code) == 3
    monkeypatch.chdir(tmp_path)
    exec("\n".join(code).replace("NAME", "verdict"))
    assert "VERIFIED" in capsys.readouterr().out
    (tmp_path / "verdict.cnf").write_text("p cnf 64 1\n1 2 0\n")
    exec("\n".join(code).replace("NAME", "verdict"))
    assert "REJECTED" in capsys.readouterr().out


def test_the_comments_stand_before_their_blocks(tmp_path):
    text = write(tmp_path)["cnf"].read_text()
    blocks = {part.split("\n")[0]: part.split("\n")[1:-1] for part in text.split("c ")[2:]}
    assert all(len(line.split()) == 3 and line[0] == "-" for line in blocks["conflicts"])
    assert len(blocks["rules"]) == len(STATE.layout.rules)
    assert len(blocks["closed"]) == 64 - STATE.open.bit_count()
    assert all(len(line.split()) == 2 and line[0] == "-" for line in blocks["closed"])


def test_every_variable_has_a_meaning(tmp_path):
    with write(tmp_path)["variables"].open() as stream:
        rows = list(csv.DictReader(stream))
    assert [int(row["variable"]) for row in rows] == list(range(1, 65))
    for row in rows:
        candidate = parse_candidate(STATE.layout, row["candidate"])
        assert candidate + 1 == int(row["variable"])
        assert (row["state"] == "open") is STATE.is_open(candidate)


def test_the_readme_says_what_was_claimed_and_grows(tmp_path):
    write(tmp_path)
    why = PROOF.explanation
    write_evidence(
        tmp_path, "explanation", PROOF.reduced_certificate, STATE, PROOF.claims, why.premises
    )
    text = (tmp_path / "README.txt").read_text()
    assert "NAME = verdict\n" in text
    assert "NAME = explanation\n" in text
    assert text.count("To check") == 1
    assert text.count("claimed: r2c3!=2") == 2
    assert "rules used: all rules" in text
    assert f"rules used: {why.premise_names[0]}" in text


def test_nothing_is_overwritten(tmp_path):
    write(tmp_path / "mine")
    with pytest.raises(FileExistsError, match="exists; name a new folder"):
        write(tmp_path / "mine")
    (tmp_path / "other").mkdir()
    (tmp_path / "other" / "letter.txt").write_text("private")
    with pytest.raises(FileExistsError, match="holds other files"):
        write(tmp_path / "other")
    assert [path.name for path in (tmp_path / "other").iterdir()] == ["letter.txt"]
