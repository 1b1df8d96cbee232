"""Each mutant still finds the text that it changes, and its tests; whether they catch it is run by hand."""

from __future__ import annotations

import pytest

from tests.mutation.run import MUTANTS, ROOT, Mutant


@pytest.mark.parametrize("mutant", MUTANTS, ids=lambda m: f"{m.file}: {m.text[:40]}")
def test_its_text_stands_there_once(mutant: Mutant) -> None:
    assert (ROOT / "vansim" / mutant.file).read_text(encoding="utf-8").count(mutant.text) == 1
    assert mutant.instead != mutant.text
    for name in mutant.tests.split():
        assert (ROOT / "tests" / name.partition("::")[0]).exists()
