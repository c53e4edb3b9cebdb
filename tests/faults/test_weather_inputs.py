"""A weather file with any bytes in it is read or refused in words; a huge one before it is read at all."""

from __future__ import annotations

import subprocess
import sys
from contextlib import suppress
from pathlib import Path

import pvlib
import pytest
from hostile import CASES, bounded
from hypothesis import given, settings
from hypothesis import strategies as st

from wetfoot.errors import WetfootError
from wetfoot.weather.daily import COLUMNS
from wetfoot.weather.read import READERS, read_weather

# TMY3 and EPW: data that pvlib carries; the other samples are invented
_DATA = Path(pvlib.__file__).parent / "data"
_EPW_ROW = "2001,3,1,{hour},0,?,25,18,70,101000,0,0,0,100,0,0,0,0,0,0,90,3,0,0,9,9,9,9,1,0,0,0,0,0.5,1"
_EPW_HEAD = ["LOCATION,Invented,-,XXX,x,0,20.0,110.0,8.0,12.0", *["-"] * 6, "DATA PERIODS,1,1,Data,Sunday,1/1,12/31"]
SAMPLES = {
    "named_csv": "date,tmin,tmax,rain,wind (mph),rh\n2014-06-01,15,25,0,5,70\n2014-06-02,16,26,12.5,6,71\n",
    "tmy3": "\n".join((_DATA / "723170TYA.CSV").read_text().splitlines()[:50]),
    "epw": "\n".join([*_EPW_HEAD, *(_EPW_ROW.format(hour=hour) for hour in range(1, 25))]),
    "ghcn_dly": "\n".join(
        f"XX000INVENT201406{element}" + f"{value:5d}  7" * 30 + "-9999   "
        for element, value in (("TMAX", 250), ("TMIN", 150), ("PRCP", 12))
    ),
    "ghcn_csv": 'STATION,DATE,PRCP,TMAX,TMAX_ATTRIBUTES,TMIN\nXX000INVENT,2014-06-01,5,250,",,7",150\n',
}
SPLICES = (b"\x00", b"\xff\xfe", b"\xef\xbb\xbf", b"\r", b"\n\n", b",", b";", b'"', b"-9999", b"1e400", b"nan", b"inf",
           b"24:00", b"9999-12-31", b"0000-00-00", b"9" * 400, "雨".encode(), b"\x1a", b"=1+1", b"-")  # fmt: skip


def test_every_reader_has_a_sample_that_it_reads(tmp_path: Path) -> None:
    assert set(SAMPLES) == set(READERS)
    for name, text in SAMPLES.items():
        path = tmp_path / name
        path.write_text(text)
        assert len(read_weather(path, name).table) >= 1


@pytest.mark.parametrize("name", SAMPLES)
@settings(bounded, max_examples=20 * CASES)
@given(data=st.data())
def test_any_bytes_in_a_weather_file_are_read_or_refused(
    tmp_path_factory: pytest.TempPathFactory, name: str, data: st.DataObject
) -> None:
    raw = bytearray(SAMPLES[name].encode())
    for _ in range(data.draw(st.integers(1, 5))):
        at = data.draw(st.integers(0, len(raw)))
        gone = data.draw(st.sampled_from([0, 0, 1, 2, 10, 200]))
        raw[at : at + gone] = data.draw(st.one_of(st.sampled_from(SPLICES), st.binary(max_size=6)))
    path = tmp_path_factory.getbasetemp() / "mangled.txt"
    path.write_bytes(bytes(raw))
    for file_format in ("auto", name):
        with suppress(WetfootError):
            found = read_weather(path, file_format)
            assert tuple(found.table.columns) == COLUMNS
            assert found.table.index.is_unique


READ_IN_EACH_FORMAT = """
import resource, sys
from pathlib import Path
from wetfoot.errors import WetfootError
from wetfoot.weather.read import read_weather
before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
for file_format in sys.argv[2:]:
    try:
        read_weather(Path(sys.argv[1]), file_format)
    except WetfootError as refused:
        print(str(refused).replace(chr(10), " "))
print((resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before) // 1024)
"""


def test_a_file_of_1_gb_is_refused_before_memory_grows(tmp_path: Path) -> None:
    path = tmp_path / "huge.csv"
    with path.open("wb") as file:
        file.write(b"date,tmin,tmax,rain\n")
        file.truncate(10**9)  # a sparse file: it takes no room on the disk
    formats = ["auto", *READERS]
    told = subprocess.run(
        [sys.executable, "-c", READ_IN_EACH_FORMAT, str(path), *formats], capture_output=True, text=True, check=True
    )
    *words, grown_mib = told.stdout.splitlines()
    assert ["larger than 300 MB" in each for each in words] == [True] * len(formats)
    assert int(grown_mib) < 20
