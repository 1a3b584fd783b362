"""Compatibility: what in a new OpenAPI document would break a client that was written for an old one.

A request that was answered must still be (nothing newly required, narrowed or gone); an answer must still hold what it
held (nothing gone, or left out where it always was). No maintained library found compares documents of OpenAPI 3.1, so
this one does, as far as the keywords go that our documents use. `python -m tests.api.compatibility` makes the present
documents the ones that were released.
"""

import shutil
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any, Final

from tests.project.checkout import ROOT

OPENAPI: Final = ROOT / "openapi"
RELEASED: Final = OPENAPI / "released"
DOCUMENTS: Final = ("hooflast.openapi.json", "hooflast.graphql")
Json = dict[str, Any]
_TIGHTER: Final = {
    "minimum": lambda old, new: new > old,
    "minLength": lambda old, new: new > old,
    "minItems": lambda old, new: new > old,
    "maximum": lambda old, new: new < old,
    "maxLength": lambda old, new: new < old,
    "maxItems": lambda old, new: new < old,
}


@dataclass(kw_only=True)
class Comparison:
    """Two documents, and the pairs of schemas that have been compared."""

    old: Json
    new: Json
    seen: set[tuple[str, str, bool]] = field(default_factory=set)

    def breaks(self) -> Iterator[str]:
        """Everything that would break a client."""
        for path, methods in self.old["paths"].items():
            for method, old in methods.items():
                new = self.new["paths"].get(path, {}).get(method)
                place = f"{method.upper()} {path}"
                if new is None:
                    yield f"{place}: is gone"
                else:
                    yield from self._operation(old, new, place=place)

    def _operation(self, old: Json, new: Json, *, place: str) -> Iterator[str]:
        yield from self._parameters(old, new, place=place)
        yield from self._bodies(old.get("requestBody"), new.get("requestBody"), place=place)
        for status, answer in old["responses"].items():
            if not status.startswith("2"):
                continue
            if status not in new["responses"]:
                yield f"{place}: no longer answers {status}"
                continue
            there = _content(new["responses"][status])
            for media_type, held in _content(answer).items():
                if media_type not in there:
                    yield f"{place}: no longer answers {media_type}"
                else:
                    at = f"{place}: {status}"
                    yield from self.schema(held["schema"], there[media_type]["schema"], place=at, is_input=False)

    def _parameters(self, old: Json, new: Json, *, place: str) -> Iterator[str]:
        before, after = ({self._key(one, of): one for one in side} for side, of in self._sides(old, new))
        for key, one in after.items():
            if self._whole(one, self.new).get("required") and key not in before:
                yield f"{place}: newly requires the parameter {key[1]}"
        for key, one in before.items():
            if key not in after:
                yield f"{place}: no longer takes the parameter {key[1]}"
                continue
            was, now = self._whole(one, self.old), self._whole(after[key], self.new)
            if now.get("required") and not was.get("required"):
                yield f"{place}: newly requires the parameter {key[1]}"
            yield from self.schema(was["schema"], now["schema"], place=f"{place}: {key[1]}", is_input=True)

    def _sides(self, old: Json, new: Json) -> Iterator[tuple[list[Json], Json]]:
        yield old.get("parameters", []), self.old
        yield new.get("parameters", []), self.new

    def _key(self, parameter: Json, document: Json) -> tuple[str, str]:
        whole = self._whole(parameter, document)
        return whole["in"], whole["name"]

    def _bodies(self, old: Json | None, new: Json | None, *, place: str) -> Iterator[str]:
        if new is not None and old is None:
            yield f"{place}: newly takes a body"
        if old is None or new is None:
            return
        for media_type, taken in old["content"].items():
            if media_type not in new["content"]:
                yield f"{place}: no longer takes {media_type}"
            else:
                now = new["content"][media_type]["schema"]
                yield from self.schema(taken["schema"], now, place=f"{place}: body", is_input=True)

    def schema(self, old: Json, new: Json, *, place: str, is_input: bool) -> Iterator[str]:
        """What breaks between two schemas of what is sent (`is_input`) or of what is answered."""
        pair = (str(old.get("$ref", id(old))), str(new.get("$ref", id(new))), is_input)
        if pair in self.seen:
            return
        self.seen.add(pair)
        was, now = self._whole(old, self.old), self._whole(new, self.new)
        yield from _types(was, now, place=place, is_input=is_input)
        if is_input:
            yield from _bounds(was, now, place=place)
        yield from self._members(was, now, place=place, is_input=is_input)
        if "items" in was and "items" in now:
            yield from self.schema(was["items"], now["items"], place=f"{place}[]", is_input=is_input)

    def _members(self, was: Json, now: Json, *, place: str, is_input: bool) -> Iterator[str]:
        before, after = was.get("properties", {}), now.get("properties", {})
        needed_before, needed_after = set(was.get("required", ())), set(now.get("required", ()))
        for name, inside in before.items():
            if name not in after:
                yield f"{place}.{name}: is gone"
            else:
                yield from self.schema(inside, after[name], place=f"{place}.{name}", is_input=is_input)
        if is_input:
            yield from (f"{place}.{name}: is newly required" for name in sorted(needed_after - needed_before))
        else:
            gone = needed_before - needed_after
            yield from (f"{place}.{name}: may be left out" for name in sorted(gone) if name in after)

    def _whole(self, node: Json, document: Json) -> Json:
        """A node, or what it refers to."""
        while "$ref" in node:
            found: Any = document
            for step in node["$ref"].removeprefix("#/").split("/"):
                found = found[step.replace("~1", "/")]
            node = found
        return node


def _content(answer: Json) -> Json:
    content: Json = answer.get("content", {})
    return content


def _types(was: Json, now: Json, *, place: str, is_input: bool) -> Iterator[str]:
    before, after = _kinds(was), _kinds(now)
    if before and after:
        lost = before - after if is_input else after - before
        yield from (f"{place}: {'no longer takes' if is_input else 'may newly be'} {kind}" for kind in sorted(lost))
    if "enum" in was and "enum" in now and is_input:
        gone = [value for value in was["enum"] if value not in now["enum"]]
        yield from (f"{place}: no longer takes {value!r}" for value in gone)


def _kinds(schema: Json) -> set[str]:
    """The types a schema allows; none, where it does not say."""
    if "type" in schema:
        told = schema["type"]
        return set(told) if isinstance(told, list) else {told}
    return {kind for one in schema.get("anyOf", ()) for kind in _kinds(one)}


def _bounds(was: Json, now: Json, *, place: str) -> Iterator[str]:
    for keyword, is_tighter in _TIGHTER.items():
        if keyword in now and (keyword not in was or is_tighter(was[keyword], now[keyword])):
            yield f"{place}: {keyword} is tighter"


def main() -> None:
    """Make the present documents the released ones."""
    for name in DOCUMENTS:
        shutil.copyfile(OPENAPI / name, RELEASED / name)


if __name__ == "__main__":
    main()
