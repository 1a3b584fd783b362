"""Which keys the code of the service says, found in its source."""

import ast
import json
import re
from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum
from functools import cache
from pathlib import Path

import hooflast
from hooflast.access.key import KeyKind, KeyMode, KeyState
from hooflast.api.problems import KINDS
from hooflast.catalog.assortment_mapping import Unmapped
from hooflast.catalog.availability import PresentStatus
from hooflast.catalog.comparing import Edge, RecordKind
from hooflast.catalog.doubt_codes import DoubtCode
from hooflast.catalog.lifecycle import ReleaseStatus, ReleaseStep
from hooflast.catalog.plugin import Fate
from hooflast.catalog.progress import WorkStage
from hooflast.catalog.validation import Grade
from hooflast.catalog.values import AccessoryKind, LimbSet, Sides, SoldAs
from hooflast.exchange.faults import FaultCode, ValueType
from hooflast.fit import boot, findings, hoof, pad
from hooflast.fit.cycle import Moment
from hooflast.fit.evidence import Bar
from hooflast.fit.growth import Circumstance
from hooflast.fit.learned import HowFar, Unclear
from hooflast.fit.outcome import Channel, Outcome, Side
from hooflast.fit.plan_order import Aim
from hooflast.fit.remark import Footing, Severity
from hooflast.fit.verdict import Verdict
from hooflast.matching.answer import LeftOutBecause
from hooflast.matching.fitting_answer import Advice
from hooflast.matching.likelihood import Likelihood
from hooflast.matching.needs import Feature
from hooflast.matching.pads_answer import PadEffect
from hooflast.matching.release_effects import Effect
from hooflast.matching.troubleshooting import Cause, Trouble
from hooflast.store.audit import Deed
from hooflast.store.hook_values import DeliveryStatus, Failure, WhyDisabled
from hooflast.store.match_job_values import JobAnswers, JobFailure, JobState
from hooflast.units import Unit

SERVICE = Path(hooflast.__file__).parent
LABELS: dict[str, type[StrEnum]] = {
    "accessory": AccessoryKind,
    "advice": Advice,
    "aim": Aim,
    "animal_type": hoof.AnimalType,
    "axis": hoof.Axis,
    "bar": Bar,
    "cause": Cause,
    "channel": Channel,
    "circumstance": Circumstance,
    "closure": boot.Closure,
    "course": boot.Course,
    "deed": Deed,
    "delivery": DeliveryStatus,
    "disabled": WhyDisabled,
    "doubt": DoubtCode,
    "edge": Edge,
    "effect": Effect,
    "failure": Failure,
    "fate": Fate,
    "feature": Feature,
    "finding": findings.Finding,
    "grade": Grade,
    "how_far": HowFar,
    "left_out": LeftOutBecause,
    "likelihood": Likelihood,
    "key_kind": KeyKind,
    "key_mode": KeyMode,
    "key_state": KeyState,
    "job_answers": JobAnswers,
    "job_failure": JobFailure,
    "job_state": JobState,
    "limb": hoof.Limb,
    "limbs": LimbSet,
    "method": hoof.Method,
    "moment": Moment,
    "need": boot.Need,
    "observer": hoof.Observer,
    "outcome": Outcome,
    "pad": pad.PadKind,
    "pad_effect": PadEffect,
    "present": PresentStatus,
    "progress": WorkStage,
    "record": RecordKind,
    "severity": Severity,
    "shape": boot.ShapeClass,
    "side": Side,
    "sides": Sides,
    "softness": pad.Softness,
    "source": Footing,
    "sold_as": SoldAs,
    "state": hoof.HoofState,
    "status": ReleaseStatus,
    "step": ReleaseStep,
    "trouble": Trouble,
    "type": ValueType,
    "unclear": Unclear,
    "unmapped": Unmapped,
    "unit": Unit,
    "use": boot.IntendedUse,
    "verdict": Verdict,
}
FAMILIES = {
    "Caution": ("caution",),
    "Remark": (
        "why",
        "assumption",
        "gain",
        "loss",
        "turn",
        "wearing",
        "trade",
        "missed",
        "level",
        "unserved",
        "cycle",
        "trying",
    ),
    "Fault": ("fault",),
}
_KEY = re.compile(
    r"(?:assumption|caution|chance|cli|cycle|fault|gain|level|loss|missed|page|picture|place|problem|trade|trying|turn|unserved|wearing|why)"
    r"(?:\.[a-z0-9_-]+)+"
)
_UNENDED = (".", "-")
_QUOTED = re.compile(r"'([^'\n]*)'")
_KEBAB = re.compile(r"[a-z0-9]+(?:-[a-z0-9]+)*")


@dataclass(frozen=True)
class Said:
    """A code that is said, with the names of its facts where the source shows them all."""

    kind: str
    code: str
    facts: frozenset[str] | None


@cache
def nodes() -> tuple[ast.AST, ...]:
    trees = (ast.parse(path.read_text("utf-8")) for path in sorted(SERVICE.rglob("*.py")))
    return tuple(node for tree in trees for node in ast.walk(tree))


def calls() -> Iterator[ast.Call]:
    return (node for node in nodes() if isinstance(node, ast.Call))


@cache
def said_codes() -> tuple[Said, ...]:
    """Every Caution, Remark and Fault whose code stands in the source."""
    return tuple(_said_codes())


def _said_codes() -> Iterator[Said]:
    for call in calls():
        kind = _name(call.func)
        code = next((word.value for word in call.keywords if word.arg == "code"), None)
        if kind in FAMILIES and isinstance(code, ast.Constant):
            yield Said(kind=kind, code=str(code.value), facts=_facts(call))


@cache
def constants() -> frozenset[str]:
    """Every text that stands in the source by itself, or as a fault in a published schema."""
    in_code = {node.value for node in nodes() if isinstance(node, ast.Constant) and isinstance(node.value, str)}
    return frozenset(in_code | set(schema_faults()) | in_templates())


@cache
def in_templates() -> frozenset[str]:
    """Every text that stands in quotes in a template."""
    templates = (path.read_text("utf-8") for path in SERVICE.rglob("*.j2"))
    return frozenset(text for template in templates for text in _QUOTED.findall(template))


def schema_faults() -> Iterator[str]:
    for path in SERVICE.rglob("*.schema.json"):
        yield from _faults_in(json.loads(path.read_text("utf-8")))


@cache
def wanted_keys() -> frozenset[str]:
    """Every key that the source is sure to ask for."""
    literal = {text for text in constants() if _KEY.fullmatch(text) and not text.endswith(_UNENDED)}
    faults = {said.code for said in said_codes() if said.kind == "Fault"} | set(FaultCode) | set(schema_faults())
    cautions = {f"caution.{said.code}" for said in said_codes() if said.kind == "Caution"}
    labels = {f"{family}.{word.value}" for family, words in LABELS.items() for word in words}
    pairs = {f"fault.{code}{end}" for code in faults for end in ("", ".accepted")}
    problems = {f"problem.{kind}.{part}" for kind in KINDS for part in ("title", "detail", "about")}
    things = {f"resource.{one}" for one in resources()} | {f"reason.{one}" for one in reasons()}
    return frozenset(literal | cautions | labels | pairs | problems | things)


@cache
def resources() -> frozenset[str]:
    """Every kind of thing of which the source says that there is none by some name."""
    given = {value.value for value in given_as("resource") if isinstance(value, ast.Constant)}
    named = {
        node.value.value
        for node in nodes()
        if isinstance(node, ast.AnnAssign)
        and ast.unparse(node.target) == "RESOURCE"
        and isinstance(node.value, ast.Constant)
    }
    return frozenset(map(str, given | named))


def reasons() -> Iterator[str]:
    """Every reason that stands in the source why no catalog release can be served."""
    for call in calls():
        if _name(call.func) == "CatalogUnavailable":
            yield from (str(word.value.value) for word in call.keywords if isinstance(word.value, ast.Constant))


def given_as(argument: str) -> Iterator[ast.expr]:
    """What functions of ours are given as `argument`."""
    for call in calls():
        if _name(call.func) != "TracerProvider":
            yield from (word.value for word in call.keywords if word.arg == argument)


def is_said(key: str) -> bool:
    """Whether the source can ask for `key`: it stands there, or is made there from texts that do."""
    if key in wanted_keys() or key in constants():
        return True
    return any(
        key.startswith(start) and key.endswith(end) and key[len(start) : len(key) - len(end)] in constants()
        for start, end in made_keys()
    )


@cache
def made_keys() -> frozenset[tuple[str, str]]:
    """How keys are made in the source, as start and end: f"caution.{code}" is ("caution.", "")."""
    made = {(text, "") for text in in_templates() if text.endswith(_UNENDED) and "." in text}
    for node in nodes():
        if isinstance(node, ast.JoinedStr):
            start, end = (
                str(part.value) if isinstance(part, ast.Constant) else "" for part in (node.values[0], node.values[-1])
            )
            if start.endswith(_UNENDED) and "." in start:
                made.add((start, end))
    for call in calls():
        if _name(call.func) == "label" and isinstance(call.args[0], ast.Constant):
            made.add((str(call.args[0].value) + ".", ""))
        for word in call.keywords:
            if word.arg == "family" and isinstance(word.value, ast.Constant):
                made.add((str(word.value.value) + ".", ""))
    return frozenset(made)


def _facts(call: ast.Call) -> frozenset[str] | None:
    facts = next((word.value for word in call.keywords if word.arg == "facts"), None)
    if facts is None:
        return None if any(word.arg is None for word in call.keywords) else frozenset()
    if not isinstance(facts, ast.Dict) or not all(isinstance(key, ast.Constant) for key in facts.keys):
        return None
    return frozenset(str(key.value) for key in facts.keys if isinstance(key, ast.Constant))


def _faults_in(schema: object) -> Iterator[str]:
    if isinstance(schema, dict):
        if isinstance(schema.get("x-fault"), str):
            yield schema["x-fault"]
        for inner in schema.values():
            yield from _faults_in(inner)
    elif isinstance(schema, list):
        for inner in schema:
            yield from _faults_in(inner)


def _name(function: ast.expr) -> str:
    if isinstance(function, ast.Attribute):
        return function.attr
    return function.id if isinstance(function, ast.Name) else ""
