"""Settings and sources that prove themselves when they are loaded."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest

from pipeline.errors import SettingsError
from pipeline.exports.source import load_source
from pipeline.settings import Settings, bytes_of, load_settings, settings_toml
from tests.conftest import SHOP


def test_the_file_that_init_writes_names_every_knob_and_changes_nothing(tmp_path: Path) -> None:
    path = tmp_path / "settings.toml"
    path.write_text(settings_toml(), encoding="utf-8")
    assert load_settings(path) == Settings()
    for section, knobs in Settings().model_dump().items():
        assert f"[{section}]" in path.read_text()
        for key in knobs:
            assert f"{key} = " in path.read_text(), key


def test_every_knob_has_a_unit_and_a_reason() -> None:
    for name in Settings.model_fields:
        for key, field in type(getattr(Settings(), name)).model_fields.items():
            assert field.description, key
            extra = field.json_schema_extra
            assert isinstance(extra, dict)
            assert extra.get("unit"), key


def test_uncommented_defaults_are_the_defaults() -> None:
    text = "\n".join(
        line.removeprefix("# ") if " = " in line and "an example" not in line else line
        for line in settings_toml().splitlines()
        if not line.startswith("# ") or (" = " in line and "Unit:" not in line)
    )
    assert Settings.model_validate(tomllib.loads(text)) == Settings()


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("[screen]\ntreshold = 3\n", "'screen.treshold'; the nearest known key is 'threshold'"),
        ("[scren]\n", "'scren'; the nearest known key is 'screen'"),
        ("[screen]\nmin_group = 2\n", "'screen.min_group' is 2: .*greater than or equal to 5"),
        ('[basis]\ncurrency = "pounds"\n', "'basis.currency' is 'pounds'"),
        ("[screen\n", "no valid TOML"),
    ],
)
def test_what_does_not_hold_is_named(tmp_path: Path, text: str, message: str) -> None:
    path = tmp_path / "settings.toml"
    path.write_text(text)
    with pytest.raises(SettingsError, match=message) as told:
        load_settings(path)
    assert str(path) in str(told.value)


def test_a_settings_file_in_another_encoding(tmp_path: Path) -> None:
    path = tmp_path / "settings.toml"
    path.write_bytes("# déjà\n".encode("cp1252"))
    with pytest.raises(SettingsError, match="not UTF-8"):
        load_settings(path)


def test_sizes() -> None:
    assert bytes_of("512MB") == 512_000_000
    assert bytes_of("1.5 GB") == 1_500_000_000


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        ('"State" = "condition"', '"State" = "price"', "both claim to be 'price'"),
        ('"State" = "condition"', '"State" = "conditon"', "the nearest is 'condition'"),
        ('"Price" = "price"\n', "", "no column and no constant means 'price'"),
        ('"Sold" = "sold"\n', "", "no column and no constant means 'sold'"),
        ('market = "online"', 'market = "bazaar"', "'market' is 'bazaar'"),
        ('price_type = "fixed"', 'price_typ = "fixed"', "the nearest known key is 'price_type'"),
        ('price_type = "fixed"', "premium = 1.5", "premium"),
        ('currency = "GBP"', 'currency = "GBP"\nencoding = "klingon"', "no encoding"),
        ('currency = "GBP"', 'currency = "GBP"\ndelimiter = "x"', "a delimiter is one of"),
    ],
)
def test_a_source_that_does_not_hold(tmp_path: Path, old: str, new: str, message: str) -> None:
    assert old in SHOP
    path = tmp_path / "source.toml"
    path.write_text(SHOP.replace(old, new))
    with pytest.raises(SettingsError, match=message) as told:
        load_source(path)
    assert str(path) in str(told.value)


def test_a_column_and_a_constant_of_one_meaning(tmp_path: Path) -> None:
    path = tmp_path / "source.toml"
    path.write_text(SHOP + '[constants]\nprice = "1"\n')
    with pytest.raises(SettingsError, match="both a column and a constant"):
        load_source(path)
