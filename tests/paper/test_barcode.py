"""The code on the tags, read back by an independent decoder (ZXing) from the drawn page."""

import pytest

from shopdesk.errors import BadInput
from shopdesk.paper import barcode
from shopdesk.paper.press import Press
from tests.paper.conftest import Page


def drawn(text: str) -> bytes:
    press = Press(letter=False, title="code")
    press.pdf.add_page()
    press.code(20, 20, text, module=0.5, height=20)
    return press.output()


PRINTABLE = "".join(map(chr, range(32, 127)))


@pytest.mark.parametrize(
    "text",
    ["J-1047", "J-1", "J-999999999", "0", *(PRINTABLE[n : n + 19] for n in range(0, 95, 19))],
)
def test_decoder_reads_what_was_drawn(text: str) -> None:
    """Every character of code set B (ISO/IEC 15417) and some tags; the decoder refuses a symbol
    whose check character does not fit."""
    assert Page(drawn(text)).codes() == [("Code128", text)]


def test_check_character_of_a_published_example() -> None:
    """From memory, the widely published worked example: "PJJ123C" in set A has check value 54;
    its characters have the same values in set B, where the start is worth one more: 55."""
    assert barcode.symbols("PJJ123C")[-2] == 55


def test_every_character_is_eleven_modules_and_the_stop_thirteen() -> None:
    """ISO/IEC 15417: three bars and three spaces in 11 modules; the stop has 13."""
    for char in PRINTABLE:
        found = barcode.widths(char)
        assert len(found) == 3 * 6 + 7
        assert [sum(found[n : n + 6]) for n in (0, 6, 12)] == [11, 11, 11]
        assert sum(found[18:]) == 13


@pytest.mark.parametrize("text", ["", "J–1047", "Ж", "J-1047\n"])
def test_what_no_code_can_carry_is_refused(text: str) -> None:
    with pytest.raises(BadInput, match="ASCII"):
        barcode.widths(text)
