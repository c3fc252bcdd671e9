"""Code 128 (ISO/IEC 15417), code set B: what a scanner reads off a tag, its check within."""

from shopdesk.errors import BadInput

QUIET_MODULES = 10
"""Blank modules on either side (ISO/IEC 15417)."""

_FIRST, _LAST = " ", "~"
_START_B, _STOP = 104, 106
_CHECK = 103
# Bar, space, bar, ... of the symbol characters 0 to 105 in modules, six each, then the stop with
# seven: ISO/IEC 15417, table 1.
_WIDTHS = (
    "212222222122222221121223121322131222122213122312132212221213221312231212112232122132"
    "122231113222123122123221223211221132221231213212223112312131311222321122321221312212"
    "322112322211212123212321232121111323131123131321112313132113132311211313231113231311"
    "112133112331132131113123113321133121313121211331231131213113213311213131311123311321"
    "331121312113312311332111314111221411431111111224111422121124121421141122141221112214"
    "112412122114122411142112142211241211221114413111241112134111111242121142121241114212"
    "124112124211411212421112421211212141214121412121111143111341131141114113114311411113"
    "4113111131411141313111414111312114122112142112322331112"
)


def symbols(text: str) -> tuple[int, ...]:
    """Start, the characters, their check character (weighted sum modulo 103), stop.

    Raises BadInput for nothing, or for a character outside printable ASCII.
    """
    if not text or not all(_FIRST <= char <= _LAST for char in text):
        raise BadInput(f"read {text[:40]!r}; a code takes letters, digits and signs of ASCII alone")
    values = [ord(char) - ord(_FIRST) for char in text]
    check = (_START_B + sum(n * value for n, value in enumerate(values, 1))) % _CHECK
    return (_START_B, *values, check, _STOP)


def widths(text: str) -> tuple[int, ...]:
    """Modules of bar, space, bar, … from the first bar to the last; quiet zones not counted."""
    return tuple(int(width) for symbol in symbols(text) for width in _pattern(symbol))


def _pattern(symbol: int) -> str:
    return _WIDTHS[6 * symbol :] if symbol == _STOP else _WIDTHS[6 * symbol : 6 * symbol + 6]
