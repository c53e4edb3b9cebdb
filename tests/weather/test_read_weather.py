"""Whatever file a person hands over, the answer is weather or a readable refusal."""

from __future__ import annotations

import contextlib
from pathlib import Path

import pvlib
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from wetfoot.errors import WetfootError
from wetfoot.weather.daily import COLUMNS
from wetfoot.weather.read import READERS, read_weather

TMY3 = (Path(pvlib.__file__).parent / "data" / "723170TYA.CSV").read_text().splitlines()[:50]
EPW_HEADER = [
    "LOCATION,Invented,-,XXX,x,0,20.0,110.0,8.0,12.0",
    *["-"] * 6,
    "DATA PERIODS,1,1,Data,Sunday,1/1,12/31",
]
EPW_ROW = "2001,3,1,{hour},0,?,25,18,70,101000,0,0,0,100,0,0,0,0,0,0,90,3,0,0,9,9,9,9,1,0,0,0,0,0.5,1"
SAMPLES = {
    "named_csv": "date,tmin,tmax,rain,wind (mph),rh\n2014-06-01,15,25,0,5,70\n2014-06-02,16,26,12.5,6,71\n",
    "tmy3": "\n".join(TMY3),
    "epw": "\n".join([*EPW_HEADER, *(EPW_ROW.format(hour=hour) for hour in range(1, 25))]),
    "ghcn_dly": "\n".join(
        f"XX000INVENT201406{element}" + f"{value:5d}  7" * 30 + "-9999   "
        for element, value in (("TMAX", 250), ("TMIN", 150), ("PRCP", 12))
    ),
    "ghcn_csv": 'STATION,DATE,PRCP,TMAX,TMAX_ATTRIBUTES,TMIN\nXX000INVENT,2014-06-01,5,250,",,7",150\n',
}


@pytest.mark.parametrize("file_format", list(READERS))
def test_the_samples_are_told_apart_and_read(tmp_path: Path, file_format: str) -> None:
    path = tmp_path / "weather.txt"
    path.write_text(SAMPLES[file_format])
    told, named = read_weather(path), read_weather(path, file_format)
    assert told.source == named.source
    assert tuple(told.table.columns) == COLUMNS
    assert told.table.index.tz is None
    assert told.table.index.is_unique
    assert "weather.txt" in told.source


@pytest.mark.parametrize("file_format", list(READERS))
@given(data=st.data())
@settings(max_examples=60, deadline=None)
def test_mangled_text_is_read_or_refused_and_nothing_else(file_format: str, data: st.DataObject) -> None:
    text = SAMPLES[file_format]
    for _ in range(data.draw(st.integers(1, 4))):
        at = data.draw(st.integers(0, len(text)))
        until = data.draw(st.integers(at, min(len(text), at + 40)))
        put = data.draw(
            st.one_of(st.text(max_size=12), st.sampled_from(["1e400", "-9999", "\n", ",", '"', ";", "24:00"]))
        )
        text = text[:at] + put + text[until:]
    with contextlib.suppress(WetfootError):
        weather = READERS[file_format](text, "mangled")
        assert tuple(weather.table.columns) == COLUMNS
        assert weather.table.index.is_monotonic_increasing
        assert weather.table.index.is_unique


@given(raw=st.binary(max_size=300), file_format=st.sampled_from(["auto", *READERS]))
@settings(max_examples=100, deadline=None)
def test_any_bytes_are_refused(tmp_path_factory: pytest.TempPathFactory, raw: bytes, file_format: str) -> None:
    path = tmp_path_factory.getbasetemp() / "bytes.csv"
    path.write_bytes(raw)
    with pytest.raises(WetfootError):
        read_weather(path, file_format)


def test_utf16_and_western_letters_are_read(tmp_path: Path) -> None:
    path = tmp_path / "weather.csv"
    text = SAMPLES["named_csv"].replace("tmin", "tmin (°C)")
    for encoding in ("utf-16", "latin-1", "utf-8-sig"):
        path.write_text(text, encoding=encoding)
        assert len(read_weather(path).table) == 2


@pytest.mark.parametrize(
    ("raw", "why"),
    [(b"", "empty"), (b" \n \n", "empty"), (b"PK\x03\x04 rest", "spreadsheet"), (b"ab\x00\x01", "binary")],
)
def test_what_is_no_weather_file_is_refused_with_the_reason(tmp_path: Path, raw: bytes, why: str) -> None:
    path = tmp_path / "weather.csv"
    path.write_bytes(raw)
    with pytest.raises(WetfootError, match=why):
        read_weather(path)


def test_no_file_a_folder_and_an_unknown_format_are_refused(tmp_path: Path) -> None:
    with pytest.raises(WetfootError, match="cannot be read"):
        read_weather(tmp_path / "nowhere.csv")
    with pytest.raises(WetfootError, match="cannot be read"):
        read_weather(tmp_path)
    with pytest.raises(WetfootError, match="named_csv"):
        read_weather(tmp_path, "grib")
