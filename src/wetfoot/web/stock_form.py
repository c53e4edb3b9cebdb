"""The form for one record of planting stock, made from the columns that its type has in a spreadsheet."""

from __future__ import annotations

from dataclasses import dataclass

from wetfoot.answers.stock_entering import row_words
from wetfoot.answers.stock_records import StockState
from wetfoot.book.stock_entries import RESULTS
from wetfoot.book.stock_layout import ITEMS, WORDS, Item
from wetfoot.plan.model import Plan
from wetfoot.stock.exposure import AGENTS

GRADES = ("seed", "small", "second")
CULLS = ("small", "rot", "malformed", "damaged", "suspect")
_NEEDED = {
    "lot": ("lot",),
    "cutting": ("batch", "lot", "pieces"),
    "planting": ("place", "pot", "pieces"),
    "pot moved": ("place", "pot", "to"),
    "harvest": ("place", "pot", "lot", "value"),
    "cull": ("lot", "value", "cause"),
    "store check": ("lot", "value"),
    "shipment": ("lot", "value", "to"),
    "test": ("agent", "result"),
    "hold": ("cause",),
    "release": ("cause",),
}
# A label and a hint by column, or by type and column where they differ.
_LABELS: dict[str | tuple[str, str], tuple[str, str]] = {
    "lot": ("Lot", ""),
    ("lot", "lot"): ("Name of the lot", "a new name"),
    ("harvest", "lot"): ("Into the lot", "what is harvested now, not what was planted"),
    ("planting", "lot"): ("Lot planted uncut", "instead of a batch"),
    "batch": ("Cutting batch", ""),
    ("cutting", "batch"): ("Name of the batch", "a new name"),
    ("cutting", "lot"): ("Cut from the lot", ""),
    "parents": ("Parent lots", "parted by ;  of a harvested lot the pots tell them too"),
    "generation": ("Generation", "cycles in pots since tissue culture or since it came in"),
    "species": ("Species", ""),
    "cultivar": ("Cultivar", ""),
    "source": ("From whom", ""),
    "permit": ("Permit or certificate", "its number"),
    ("lot", "value"): ("Came in", "bought, given or split off, as 12 kg; empty if it is harvested here"),
    ("cutting", "value"): ("Taken out of the lot", "as 4.5 kg"),
    ("planting", "value"): ("Weight of the pieces", "as 150 g"),
    ("harvest", "value"): ("Weighed", "as 4.9 kg"),
    ("cull", "value"): ("Weight culled", "as 0.4 kg"),
    ("store check", "value"): ("Left now, rot taken out", "as 38 kg"),
    ("shipment", "value"): ("Sent", "as 20 kg"),
    "knife": ("Knife", "or the session it was used in"),
    "disinfectant": ("Knife disinfected with", "empty if it was not"),
    ("cutting", "temperature"): ("Dip, measured", "as 50 C; empty if not dipped"),
    ("store check", "temperature"): ("Temperature of the store", "as 13 C"),
    "minutes": ("Minutes in the dip", ""),
    "pieces": ("Pieces", ""),
    "place": ("Bank", ""),
    ("test", "place"): ("Bank", "of a bare pot number, or of a water test"),
    ("pot moved", "place"): ("From the bank", ""),
    "pot": ("Pot", "its code as East 3, or its number in the bank"),
    ("cull", "pot"): ("Pot", "empty if culled in the store"),
    ("pot moved", "to"): ("To the bank", ""),
    ("shipment", "to"): ("To whom", ""),
    "grade": ("Grade", ""),
    "cause": ("Why", ""),
    "rot": ("Rot taken out", "as 0.5 kg"),
    "humidity": ("Humidity of the store", "as 85 %"),
    "agent": ("Looked for", "the disease"),
    "method": ("Method", ""),
    "lab": ("Laboratory", ""),
    "result": ("Result", ""),
    "detection limit": ("Detection limit", "with its unit"),
    "samples": ("Samples or pools tested", ""),
    "pool size": ("Pieces in each pool", ""),
    "sensitivity": ("Sensitivity", "as 90 %: what it finds of infected samples"),
    "specificity": ("Specificity", "as 99 %: what it leaves of clean samples"),
    "confirms": ("Confirms the test", ""),
}
_SUGGESTED = {"lot": "lots", "parents": "lots", "batch": "batches", "pot": "pots"}


@dataclass(frozen=True)
class Field:
    """A field of the form.

    Attributes:
        name: the column it fills.
        label: what stands above it; ``hint`` goes with it.
        needed: whether the record cannot be without it.
        choices: value and words of each choice; empty for a text.
        suggested: name of the list of known names, or empty.
        width: 'date', 'time' or 'text'.
    """

    name: str
    label: str
    hint: str = ""
    needed: bool = False
    choices: tuple[tuple[str, str], ...] = ()
    suggested: str = ""
    width: str = "text"


def form_fields(word: str, plan: Plan, state: StockState) -> list[Field]:
    """Return the fields of the form for a type of record, by its word, in the order in which they are asked."""
    record = WORDS[word][0]
    items = [item for item in ITEMS[record] if not (word == "harvest" and item.column == "cause")]
    own = [_field(word, item, plan, state) for item in items]
    return [
        Field("date", "Day", "", True, width="date"),
        Field("time", "Time", "if it matters", width="time"),
        *own,
        Field("note", "Note"),
        Field("who", "Who", "", True),
    ]


def names_known(state: StockState) -> dict[str, list[str]]:
    """Return the lists of names that fields suggest."""
    return {
        "lots": list(state.lots),
        "batches": list(dict.fromkeys(cutting.batch for cutting in state.records.cuttings)),
        "pots": list(state.pots),
        "agents": list(AGENTS)[1:],
        "causes": list(CULLS),
        "grades": list(GRADES),
    }


def _field(word: str, item: Item, plan: Plan, state: StockState) -> Field:
    column = item.column
    label, hint = _LABELS.get((word, column)) or _LABELS[column]
    needed = column in _NEEDED[word]
    suggested = _SUGGESTED.get(column, "") or {"agent": "agents", "grade": "grades"}.get(column, "")
    if word == "cull" and column == "cause":
        suggested = "causes"
    if (word, column) in (("lot", "lot"), ("cutting", "batch")):
        suggested = ""
    return Field(column, label, hint, needed, _choices(item, plan, state), suggested)


def _choices(item: Item, plan: Plan, state: StockState) -> tuple[tuple[str, str], ...]:
    if item.kind == "bank":
        return tuple((bank.name, bank.name) for bank in plan.banks)
    if item.column == "result":
        return tuple((result, result) for result in RESULTS)
    if item.kind == "id":
        tests = sorted(state.records.tests, key=lambda test: test.at, reverse=True)
        return tuple((test.id, f"{row_words(test)}: {test.agent} {test.result}") for test in tests)
    return ()
