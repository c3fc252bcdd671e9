"""Everything the shop can be told is wrong, as one tree.

ShopError                 a sentence for a person; ``exit_status`` for the command line
├── BadInput              what was typed or given cannot be read (status 2)
│   ├── BadQuantity       a number or unit that cannot be read, or does not fit the line
│   └── BadProcedure      a procedure document that does not check
├── Refused               the shop's rules say no: which line is missing, whose move (status 3)
├── NotFound              no such job, serial, part, person (status 4)
├── Question              to be confirmed first: the same again, confirmed, is recorded (status 3)
├── Stale                 somebody else changed it first (status 5)
├── OutOfRange            a calculation asked outside the range its source covers (status 2)
└── RecordFault           the database: missing, locked, read-only, full, corrupt, newer (status 6)
    └── Unreachable       no connection for now and nothing recorded: the same again may succeed
"""


class ShopError(Exception):
    """One clear sentence: what was read, what was expected, what to do."""

    exit_status = 1

    def __str__(self) -> str:
        return str(self.args[0]) if self.args else self.__class__.__name__


class BadInput(ShopError):
    exit_status = 2


class BadQuantity(BadInput):
    pass


class BadProcedure(BadInput):
    """``problems`` lists every fault found, one sentence each, with file and path."""

    def __init__(self, message: str, problems: tuple[str, ...] = ()) -> None:
        super().__init__(message)
        self.problems = problems or (message,)


class OutOfRange(BadInput):
    pass


class Refused(ShopError):
    """``missing`` names the lines that stand in the way, ``whose_move`` who can clear them."""

    exit_status = 3

    def __init__(self, message: str, missing: tuple[str, ...] = (), whose_move: str = "") -> None:
        super().__init__(message)
        self.missing = missing
        self.whose_move = whose_move


class NotFound(ShopError):
    exit_status = 4


class Question(ShopError):
    exit_status = 3


class Stale(ShopError):
    exit_status = 5


class RecordFault(ShopError):
    exit_status = 6


class Unreachable(RecordFault):
    pass
