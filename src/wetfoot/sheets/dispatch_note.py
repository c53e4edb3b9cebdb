"""The note that goes along with seed: what it is, how much, to whom, what was tested, and that it is no certificate."""

from __future__ import annotations

from wetfoot.answers.dispatch import Dispatch
from wetfoot.answers.health_words import AUTHORITY, confirmation_words, confirming, found_words, how_words
from wetfoot.drawing.qr import qr_drawing
from wetfoot.quantities import System, show
from wetfoot.sheets.lot_labels import qr_text
from wetfoot.sheets.press import LONGEST_CELL, Sheet, short
from wetfoot.stock.lots import day_of

LONGEST_TOLD = 160
STORE_C, CHILLED_C, HUMIDITY = 13.0, 12.0, 0.85  # handbook, agronomy 1.4


def dispatch_sheet(found: Dispatch) -> Sheet:
    """Return the note that goes along with seed."""
    lot, system = found.lot, found.plan.units
    repeated = confirming(found.tests)
    facts = [
        ["Lot", short(lot.lot, LONGEST_TOLD)],
        ["Species and cultivar", short(", ".join(x for x in (lot.species, lot.cultivar) if x) or "not written", 90)],
        ["Generation in pots", "not written" if lot.generation is None else f"{lot.generation}"],
        ["Net mass", show(found.kg, "mass", system)],
        ["To", short(found.to, LONGEST_TOLD)],
        ["Sent on", f"{found.on}"],
        ["Permit or certificate number, as typed", short(found.permit, LONGEST_TOLD) or "none was typed"],
        ["Lot made or came in on", f"{day_of(lot)}"],
        ["On hold or exposed", "neither, by the station's book"],
    ]
    says = {
        "facts": facts,
        "tests": [
            [f"{day_of(t)}", short(t.agent, LONGEST_CELL), short(found_words(t), LONGEST_CELL),
             short(how_words(t), LONGEST_TOLD), confirmation_words(t, repeated)]
            for t in found.tests
        ],
        "cautions": [short(words, 300) + "." for words in found.cautions],
        "handling": _handling(system),
        "authority": AUTHORITY,
    }  # fmt: skip
    return Sheet("dispatch_note.typ", "Seed dispatch note", says, {"lot": qr_drawing(qr_text(lot.lot))})


def _handling(system: System) -> list[str]:
    """Return what to do with the seed; common practice, no source, but for the store."""
    store, chilled = show(STORE_C, "temperature", system), show(CHILLED_C, "temperature", system)
    return [
        "Look at every piece: lay soft, foul or mouldy ones apart, and tell us at once.",
        f"Keep it at {store} and {100 * HUMIDITY:.0f} % humidity until you plant; below {chilled} it is chilled.",
        "Plant it where no ginger stood before; keep this lot and its name apart from others.",
    ]
