"""Reading, converting and writing quantities: every number that carries a unit passes through here.

A value inside the program is a float in the SI unit of its dimension (m, Pa, K, N·m, N, m³, s, kg,
rad, m³/s, Pa/s, pieces). Two conventions matter:

- **PRESSURE is gauge pascal**, for every spelling. ``bar``, ``barg``, ``psi``, ``MPa`` are gauge;
  ``bara``, ``psia``, ``MPa(a)`` are turned into gauge with ``atmosphere_pa`` (the site's, standard
  atmosphere by default). Absolute pressure for a gas law is the caller's sum of the two.
- **TEMPERATURE is kelvin.** A difference is never a temperature: tolerances and losses go through
  ``span_to_si``, or through the units ``Δbar``, ``Δ°C`` and their like on a line of their own.

pint holds the definitions and is loaded at the first conversion; ``warm()`` loads it beforehand.
Text is read by this package alone and never reaches pint's parser.
"""

from .convert import STANDARD_ATMOSPHERE_PA, from_si, span_to_si, to_si
from .dimension import Dimension
from .reading import Ambiguous, Measured, is_reading, parse
from .registry import warm
from .show import span_text, text
from .units import canonical, dimension_of

__all__ = [
    "STANDARD_ATMOSPHERE_PA",
    "Ambiguous",
    "Dimension",
    "Measured",
    "canonical",
    "dimension_of",
    "from_si",
    "is_reading",
    "parse",
    "span_text",
    "span_to_si",
    "text",
    "to_si",
    "warm",
]
