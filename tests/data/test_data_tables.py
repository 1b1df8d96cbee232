"""The tables hold together: every row names its source, nothing can be changed, numbers lie where they can."""

from collections.abc import Iterator, Mapping
from typing import Any

import pytest

from tests.support.tables import rows, source_keys
from vansim import data
from vansim.data import Source, sources, table

ALL_ROWS = [(name, key, row) for name in data.TABLES for key, row in rows(name)]


def numbers(node: Any) -> Iterator[float]:
    if isinstance(node, Mapping):
        for value in node.values():
            yield from numbers(value)
    elif isinstance(node, tuple):
        for value in node:
            yield from numbers(value)
    elif isinstance(node, int | float):
        yield float(node)


@pytest.mark.parametrize(("name", "key", "row"), ALL_ROWS, ids=[f"{name}:{key}" for name, key, _ in ALL_ROWS])
def test_every_row_names_a_known_source_and_only_fields_it_has(name, key, row):
    keys = source_keys(row)
    assert "source" in keys
    assert set(keys.values()) <= set(sources())
    assert set(keys) - {"source"} <= set(row)


@pytest.mark.parametrize("name", data.TABLES)
def test_no_number_escapes_the_rows(name):
    in_rows = sum(
        len(list(numbers({k: v for k, v in row.items() if not isinstance(v, Mapping)}))) for _, row in rows(name)
    )
    assert in_rows == len(list(numbers(table(name)))) > 0


def test_every_source_is_used_and_says_everything():
    used = {key for _, _, row in ALL_ROWS for key in source_keys(row).values()}
    assert used == set(sources())
    for key, source in sources().items():
        assert all((source.author, source.title, source.where)), key
        assert 1850 < source.year < 2100, key


def test_every_toml_file_is_a_table_or_the_sources():
    from importlib.resources import files

    found = {file.name.removesuffix(".toml") for file in files("vansim.data").iterdir() if file.name.endswith(".toml")}
    assert found == {*data.TABLES, "sources"}


def test_tables_are_read_once_and_cannot_be_changed():
    materials = table("materials")
    assert materials is table("materials")
    with pytest.raises(TypeError):
        materials["steel"] = {}  # type: ignore[index]
    with pytest.raises(TypeError):
        materials["steel"]["conductivity_w_mk"] = 1.0
    assert isinstance(table("glass")["angle"]["shgc"], tuple)


def test_an_unknown_table_is_refused_with_the_nearest_name():
    with pytest.raises(KeyError, match="nearest: materials"):
        table("material")


def test_a_source_of_unknown_status_is_refused():
    with pytest.raises(ValueError, match="allowed: look-up"):
        Source(author="a", title="b", year=2000, where="c", status="rumour")


def test_a_source_reads_as_a_citation():
    assert str(sources()["manwell-mcgowan-1993"]).startswith("Manwell, J. F. and McGowan, J. G. (1993), Lead acid")


def test_materials_lie_in_the_range_of_solids():
    for key, row in table("materials").items():
        assert 0.02 <= row["conductivity_w_mk"] <= 400, key
        assert 10 <= row["density_kg_m3"] <= 9000, key
        assert 400 <= row["heat_capacity_j_kgk"] <= 2600, key


def test_paints_are_fractions_and_darken_in_order():
    paints = table("paints")
    assert all(0 < row[field] < 1 for row in paints.values() for field in ("solar_absorptance", "emittance"))
    order = ["white", "aged-white", "dark-cool", "mid-grey", "dark-blue", "black"]
    shades = [paints[key]["solar_absorptance"] for key in order]
    assert shades == sorted(shades)
