"""What stands in the book of planting stock: lots, cuttings, plantings, moves, harvests, stores, tests, holds.

Lots and batches are known by their names. A pot is known by its code, which stays with it when it moves: by default
the bank where it first stood and its number there, such as 'East 3'.
"""

from __future__ import annotations

from dataclasses import dataclass

from wetfoot.book.entries import Event, Reading, Record, TopUp, Visit

RESULTS = ("positive", "negative", "unclear")
HOLD_KINDS = ("hold", "release")


@dataclass(frozen=True, kw_only=True)
class Lot(Record):
    """A quantity of planting stock with one origin.

    Attributes:
        lot: its name.
        parents: names of the lots it descends from; of a harvested lot the pots tell them too.
        generation: cycles in pots since tissue culture or since it came in.
        species: botanical or common name.
        cultivar: name of the cultivar.
        source: from whom it came.
        permit: number of the permit or certificate it came with.
        kg: what came in other than by harvest: bought, given, or split off a lot of the same generation.
    """

    lot: str
    parents: tuple[str, ...] = ()
    generation: int | None = None
    species: str | None = None
    cultivar: str | None = None
    source: str | None = None
    permit: str | None = None
    kg: float | None = None


@dataclass(frozen=True, kw_only=True)
class Cutting(Record):
    """A batch of seed pieces cut from a lot.

    Attributes:
        batch: its name.
        lot: what was cut.
        pieces: how many there came of it.
        kg: what was taken out of the lot for it.
        knife: the knife, or the session it was used in.
        disinfectant: what the knife was disinfected with before this batch; None if it was not.
        dip_c: temperature measured in the dip, deg C.
        dip_minutes: how long the dip lasted.
    """

    batch: str
    lot: str
    pieces: int
    kg: float | None = None
    knife: str | None = None
    disinfectant: str | None = None
    dip_c: float | None = None
    dip_minutes: float | None = None


@dataclass(frozen=True, kw_only=True)
class Planting(Record):
    """Pieces of a batch, or uncut ones of a lot, that were planted into a pot in a bank (`place`).

    Attributes:
        pot: the pot's code.
        place: the bank it stands in.
        pieces: how many.
        batch: the batch they are of, or else
        lot: the lot they are of.
        kg: what they weighed; of pieces straight from a lot, what was taken out of it.
    """

    pot: str
    place: str
    pieces: int
    batch: str | None = None
    lot: str | None = None
    kg: float | None = None


@dataclass(frozen=True, kw_only=True)
class Move(Record):
    """A pot, by its code, that was moved from one bank (`place`) to another (`to`)."""

    pot: str
    place: str
    to: str


@dataclass(frozen=True, kw_only=True)
class Harvest(Record):
    """What was weighed of a pot into a lot, or culled of either.

    Attributes:
        lot: the lot it belongs to.
        kg: what it weighed.
        pot: the pot's code; a cull without a pot was taken out of the lot later.
        place: the bank where the pot stood.
        grade: name of the grade.
        cause: why it was culled; None if it was not.
    """

    lot: str
    kg: float
    pot: str | None = None
    place: str | None = None
    grade: str | None = None
    cause: str | None = None


@dataclass(frozen=True, kw_only=True)
class StoreCheck(Record):
    """A look at a lot in store.

    Attributes:
        lot: the lot.
        kg: what is left of it, the rot taken out.
        rot_kg: rot that was taken out.
        temperature_c: of the store, deg C.
        humidity: relative humidity of the store, as a fraction.
    """

    lot: str
    kg: float
    rot_kg: float = 0.0
    temperature_c: float | None = None
    humidity: float | None = None


@dataclass(frozen=True, kw_only=True)
class Shipment(Record):
    """Kilograms of a lot that went to somebody (`to`), and the permit they went with."""

    lot: str
    kg: float
    to: str
    permit: str | None = None


@dataclass(frozen=True, kw_only=True)
class About(Record):
    """A record about a lot, a batch, a pot (by its code; `place` says where it stood), or else a bank's water."""

    lot: str | None = None
    batch: str | None = None
    pot: str | None = None
    place: str | None = None

    @property
    def subject(self) -> str:
        """What it is about: the name of the lot, batch or bank, or the code of the pot."""
        return str(self.pot or self.batch or self.lot or self.place)


@dataclass(frozen=True, kw_only=True)
class HealthTest(About):
    """A test for a disease agent.

    Attributes:
        agent: what was looked for.
        result: one of `RESULTS`.
        method: how.
        lab: who tested.
        detection_limit: the least that the method sees, with its unit.
        samples: how many samples, or pools of them, were tested.
        pool_size: pieces in each pool.
        sensitivity: chance that an infected sample is found.
        specificity: chance that a clean sample is not called infected.
        confirms: id of the test that this one repeats to be sure.
    """

    agent: str
    result: str
    method: str | None = None
    lab: str | None = None
    detection_limit: str | None = None
    samples: int | None = None
    pool_size: int | None = None
    sensitivity: float | None = None
    specificity: float | None = None
    confirms: str | None = None


@dataclass(frozen=True, kw_only=True)
class Hold(About):
    """Something that may not be used or sent from now on, or may again: `kind` is one of `HOLD_KINDS`."""

    kind: str
    cause: str


STOCK_TYPES: tuple[type[Record], ...] = (Lot, Cutting, Planting, Move, Harvest, StoreCheck, Shipment, HealthTest, Hold)
# In the order in which they can be written: what others point to comes first.
RECORD_TYPES: tuple[type[Record], ...] = (Visit, Reading, TopUp, Event, *STOCK_TYPES)
