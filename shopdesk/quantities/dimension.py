"""What kinds of quantity the shop measures."""

from enum import StrEnum


class Dimension(StrEnum):
    """The kind of a quantity; a difference is a kind of its own."""

    LENGTH = "length"
    PRESSURE = "pressure"
    TEMPERATURE = "temperature"
    TORQUE = "torque"
    FORCE = "force"
    VOLUME = "volume"
    TIME = "time"
    MASS = "mass"
    ANGLE = "angle"
    FLOW = "flow"
    ROUGHNESS = "roughness"
    COUNT = "count"
    PRESSURE_DIFFERENCE = "pressure_difference"
    TEMPERATURE_DIFFERENCE = "temperature_difference"
    PRESSURE_RATE = "pressure_rate"

    @property
    def words(self) -> str:
        """The kind with its article, for a sentence: "a pressure difference"."""
        article = "an" if self is Dimension.ANGLE else "a"
        return f"{article} {self.value.replace('_', ' ')}"


SI_UNIT: dict[Dimension, str] = {
    Dimension.LENGTH: "meter",
    Dimension.PRESSURE: "pascal",
    Dimension.TEMPERATURE: "kelvin",
    Dimension.TORQUE: "newton * meter",
    Dimension.FORCE: "newton",
    Dimension.VOLUME: "meter ** 3",
    Dimension.TIME: "second",
    Dimension.MASS: "kilogram",
    Dimension.ANGLE: "radian",
    Dimension.FLOW: "meter ** 3 / second",
    Dimension.ROUGHNESS: "meter",
    Dimension.COUNT: "piece",
    Dimension.PRESSURE_DIFFERENCE: "pascal",
    Dimension.TEMPERATURE_DIFFERENCE: "kelvin",
    Dimension.PRESSURE_RATE: "pascal / second",
}
"""The unit of ``value_si``, by its name in the registry; pressure is gauge."""
