"""Published life data, as numbers."""

BEARINGS = (
    17.88, 28.92, 33, 41.52, 42.12, 45.6, 48.4, 51.84, 51.96, 54.12, 55.56, 67.8, 68.64, 68.64,
    68.88, 84.12, 93.12, 98.64, 105.12, 105.84, 127.92, 128.04, 173.4,
)  # fmt: skip
"""23 ball bearings, million revolutions. Source: Lieblein and Zelen 1956 (from memory)."""

AUTOMOTIVE_FAILED = (5248, 7454, 16890, 17200, 38700, 45000, 49390, 69040, 72280, 131900)
AUTOMOTIVE_RUNNING = (
    3961, 4007, 4734, 6054, 7298, 10190, 23060, 27160, 28690, 37100, 40060, 45670, 53000, 67000,
    69630, 77350, 78470, 91680, 105700, 106300, 150400,
)  # fmt: skip
"""10 failures and 21 still running. Source: open data set ``automotive`` of the PyPI package
reliability 0.9.0, after Krivtsov and Case, SAE 1999-01-3220."""
