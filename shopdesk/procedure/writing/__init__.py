"""A first procedure written from a few answers: readable, commented TOML that checks.

``text(plan)`` gives the document. What is usual on every unit (tags, venting with a second
person's signature, the order of a charge, the hold, ports for the road) is written out around the
figures that were asked for.
"""

from shopdesk.procedure.writing.document import text
from shopdesk.procedure.writing.plan import Bench, Gas, Joint, Measure, Part, Plan, Port, Stands

__all__ = ["Bench", "Gas", "Joint", "Measure", "Part", "Plan", "Port", "Stands", "text"]
