"""What is done on every unit: taken in, taken apart, built, proved, sent on its way."""

from shopdesk.procedure.writing.plan import Measure, Part, Plan, Stands
from shopdesk.procedure.writing.toml import Names, Value, chapter, line, table

DECIDED = ("ask customer", "scrap")


def receipt(plan: Plan) -> list[str]:
    told = (
        [
            line(
                "receipt",
                "gas_told",
                "choice",
                "Gas state as the customer tells it",
                help="Told is not proved: the vent section comes whatever the answer.",
                options=("not known", "charged", "vented"),
            )
        ]
        if plan.gas
        else []
    )
    return [
        chapter("Receipt"),
        line(
            "receipt",
            "plate",
            "choice",
            "Identity plate",
            help="Serial and rated pressure must both be readable.",
            options=("readable", "partly readable", "missing"),
        ),
        *told,
        line(
            "receipt",
            "fluid",
            "note",
            "Fluid it ran on, as told",
            help="If nobody knows, or it smells strange, put the unit in quarantine.",
        ),
        line(
            "receipt",
            "outside",
            "finding",
            "Outside of the unit",
            part="outside",
            defects=("dented", "corroded", "heat marks", "thread damaged"),
            dispositions=("reuse", "scrap", "ask customer"),
        ),
    ]


class Kit:
    """The parts, and the lines that speak of them under one name."""

    def __init__(self, plan: Plan) -> None:
        self.plan = plan
        names = Names("tagged", "clean")
        self.parts = [(names.of(part.what), part) for part in plan.parts]
        self._names = Names("tagged", "clean", *(name for name, _ in self.parts))
        self._readings = [(self._names.of(each.what), each) for each in plan.readings]

    def kit(self) -> list[str]:
        return [
            chapter(
                "What it takes",
                '"always" is new every time; "keep" is looked at in teardown and stays if good.',
            ),
            *(self._line(name, part) for name, part in self.parts),
        ]

    def _line(self, name: str, part: Part) -> str:
        return table(
            "[[kit]]",
            id=name,
            part=part.number,
            quantity=part.pieces,
            policy="keep" if part.kept else "always",
            inspect=f"teardown.{name}" if part.kept else "",
            measured_by=tuple(
                f"teardown.{key}"
                for key, reading in self._readings
                if part.kept and reading.part == part.number
            ),
        )

    def teardown(self) -> list[str]:
        found = [
            line(
                "teardown",
                name,
                "finding",
                f"{_sentence(part.what)}: condition",
                part=part.what,
                defects=("scored", "pitted", "worn", "damaged"),
                dispositions=("reuse", "replace", "ask customer"),
            )
            for name, part in self.parts
            if part.kept
        ]
        read = [
            measured(
                "teardown",
                key,
                reading,
                self.plan.stands,
                dispositions=("replace", *DECIDED) if reading.part else DECIDED,
            )
            for key, reading in self._readings
        ]
        washed = line(
            "teardown", "tagged", "tick", "Loose parts washed, bagged and tagged with the job"
        )
        return [
            chapter("Teardown", "Each reading says where its limit stands and in which revision."),
            *found,
            *read,
            washed,
        ]

    def build(self) -> list[str]:
        fitted = [
            line(
                "build",
                name,
                "fit",
                f"{_sentence(part.what)} in its place",
                kit=name,
                orientation=part.how,
            )
            for name, part in self.parts
        ]
        pulled = [
            line(
                "build",
                self._names.of(joint.what),
                "torque",
                _sentence(joint.what),
                target=joint.target,
                tolerance=joint.tolerance,
                source=(joint.stands or self.plan.stands).source,
                revision=(joint.stands or self.plan.stands).revision,
                **({"count": joint.count} if joint.count > 1 else {}),
                bit=joint.bit,
            )
            for joint in self.plan.joints
        ]
        return [
            chapter(
                "Build",
                "In the order they are done. A spanner end needs its adapter, a stack its order, a",
                "part that is spent by fitting `one_time = true` in the kit.",
            ),
            line(
                "build",
                "clean",
                "tick",
                "Parts clean and dry, lots at hand",
                caution="Eye protection with the air gun.",
            ),
            *fitted,
            *pulled,
        ]


def measured(
    section: str,
    key: str,
    reading: Measure,
    usual: Stands,
    *,
    kind: str = "reading",
    dispositions: tuple[str, ...] = (),
) -> str:
    stands = reading.stands or usual
    limit: dict[str, str] = {
        name: bound for name, bound in (("low", reading.low), ("high", reading.high)) if bound
    }
    asked: dict[str, Value] = {"unit": reading.unit, "instrument": reading.instrument}
    if limit:
        asked["limit"] = {**limit, "source": stands.source, "revision": stands.revision}
    if limit and dispositions:
        asked["dispositions"] = dispositions
    return line(section, key, kind, _sentence(reading.what), **asked)


def proof(plan: Plan) -> list[str]:
    names = Names("bled", "hold", "outside", "drained")
    bench = plan.bench
    after = "The gas side stays charged." if plan.gas and plan.gas.before_proof else ""
    return [
        chapter("Proof", "With liquid, air bled out, behind the guard. Never above the rating."),
        line(
            "proof",
            "bled",
            "tick",
            "Oil side filled, air bled out",
            caution="Trapped air makes the test a gas test.",
        ),
        line(
            "proof",
            "hold",
            "wait",
            f"Shut in at {bench.pressure}, behind the guard",
            caution="Guard shut, nobody in line with caps and ports.",
            duration=bench.held,
        ),
        line(
            "proof",
            "outside",
            "choice",
            f"Outside at {bench.pressure}",
            caution="Look through the window. Never feel for a leak.",
            options=("dry", "weeping", "leaking"),
            outside=("weeping", "leaking"),
        ),
        *(
            measured("proof", names.of(test.what), test, plan.stands, kind="test")
            for test in bench.tests
        ),
        line(
            "proof",
            "drained",
            "tick",
            "Pressure off, oil side drained and open",
            caution=after,
        ),
    ]


def leaving(plan: Plan) -> list[str]:
    names = Names()
    ports = (*plan.ports, *((plan.gas.valve,) if plan.gas else ()))
    return [
        chapter("Release and shipment"),
        line("release", "plate", "tick", "Plate and tag agree with this sheet"),
        line("release", "signed", "signature", "Released"),
        *(
            line(
                "shipment",
                names.of(port.name),
                "port",
                f"{_sentence(port.name)} for the road",
                port=port.name,
                leave=port.leave,
            )
            for port in ports
        ),
    ]


def _sentence(words: str) -> str:
    return words[:1].upper() + words[1:]
