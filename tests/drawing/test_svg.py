"""The pieces of SVG: escaping, and widths of text held to the metrics of a real typeface."""

from __future__ import annotations

import json
import xml.etree.ElementTree as ET

import typst
from hypothesis import given
from hypothesis import strategies as st

from wetfoot.drawing.svg import clean, element, fit, page, text_width, words

SAMPLES = [
    "medium filled to 30.5 cm",
    "MICROTUBE 0.157 in",
    "soaked medium",
    "inside diameters at the bottom",
    "Wwmm @ 100 % — ½",
    "hose outlet: two hose bores above the rim, at least 25 mm, so that nothing is drawn back",
    "1,234,567.89 fl oz",
    "Grüße, naïve Ærø",
    "Il faut: (li, ft) [ti]",
]


def test_no_text_is_wider_than_we_think() -> None:
    # measured by the typst compiler in the Libertinus Serif that it carries, plain and bold
    def code(text: str, weight: str) -> str:
        set_in = f'font: "Libertinus Serif", size: 10pt, weight: "{weight}"'
        return f"measure(text({set_in}, {json.dumps(text, ensure_ascii=False)})).width.pt()"

    asked = ", ".join(code(text, weight) for weight in ("regular", "bold") for text in SAMPLES)
    source = f"#context [#metadata(({asked},)) <widths>]"
    compiler = typst.Compiler(source.encode(), font_paths=typst.Fonts(include_system_fonts=False))
    measured = json.loads(compiler.query("<widths>", field="value", one=True))
    for text, width in zip(SAMPLES * 2, measured, strict=True):
        assert width <= text_width(text, 10.0) <= 1.45 * width, text


@given(st.text())
def test_any_text_gives_well_formed_xml(text: str) -> None:
    drawn = page(100, 50, text, text, [words(1, 2, text), element("path", d="M0 0", aria_label=clean(text))])
    root = ET.fromstring(drawn.encode())
    assert clean(root[3].text or "") == clean(text)


def test_markup_in_a_name_stays_a_name() -> None:
    drawn = words(0, 0, '<script>alert("x")</script> & co')
    assert "<script" not in drawn
    assert ET.fromstring(drawn).text == '<script>alert("x")</script> & co'


@given(st.text(max_size=60), st.floats(15, 300))
def test_a_fitted_text_fits(text: str, width: float) -> None:
    short = fit(text, width)
    assert text_width(short) <= width
    assert short == clean(text) or short.endswith("…")
