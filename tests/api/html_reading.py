"""HTML reading: a page read back as a tree, strictly: whatever is opened is closed, in order."""

import itertools
from collections.abc import Iterator
from dataclasses import dataclass, field
from html.parser import HTMLParser

VOID = {"meta", "input", "br", "link", "hr", "img"}
CONTROLS = {"input", "select", "textarea", "button"}


@dataclass(kw_only=True)
class Node:
    """An element with what is in it."""

    tag: str
    attributes: dict[str, str] = field(default_factory=dict)
    inside: list["Node | str"] = field(default_factory=list)

    @property
    def nodes(self) -> list["Node"]:
        return [one for one in self.inside if isinstance(one, Node)]

    @property
    def classes(self) -> set[str]:
        return set(self.attributes.get("class", "").split())

    @property
    def text(self) -> str:
        """The words in it, without styles and pictures."""
        if self.tag in ("style", "svg"):
            return ""
        return " ".join(" ".join(one.text if isinstance(one, Node) else one for one in self.inside).split())

    def walk(self) -> Iterator["Node"]:
        yield self
        for one in self.nodes:
            yield from one.walk()

    def all(self, tag: str = "", *, kind: str = "") -> list["Node"]:
        """Every element of a tag, of a class, or both, in the order of the page."""
        return [one for one in self.walk() if (not tag or one.tag == tag) and (not kind or kind in one.classes)]

    def one(self, tag: str = "", *, kind: str = "") -> "Node":
        (found,) = self.all(tag, kind=kind)
        return found

    def named(self, name: str) -> "Node":
        """The element of an id."""
        (found,) = [one for one in self.walk() if one.attributes.get("id") == name]
        return found


class _Reader(HTMLParser):
    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.root = Node(tag="document")
        self.open = [self.root]

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        names = [name for name, _ in attrs]
        assert len(set(names)) == len(names), f"an attribute stands twice in <{tag}>: {names}"
        node = Node(tag=tag, attributes={name: value or "" for name, value in attrs})
        self.open[-1].inside.append(node)
        if tag not in VOID:
            self.open.append(node)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.handle_starttag(tag, attrs)
        if tag not in VOID:
            self.handle_endtag(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open[-1].tag == tag, f"</{tag}> closes <{self.open[-1].tag}>"
        self.open.pop()

    def handle_data(self, data: str) -> None:
        self.open[-1].inside.append(data)


def read_page(html: str) -> Node:
    """The page as a tree."""
    reader = _Reader()
    reader.feed(html)
    reader.close()
    assert [node.tag for node in reader.open] == ["document"]
    return reader.root


def expect_good_manners(html: str) -> None:
    """What holds for every page: landmarks, headings, labels, links, ids; nothing fetched and nothing run."""
    page = read_page(html)
    assert html.startswith("<!doctype html>")
    assert page.one("html").attributes["lang"]
    assert page.one("head").one("title").text
    assert len(page.all("main")) == len(page.all("h1")) == len(page.all("header")) == len(page.all("footer")) == 1
    assert page.all("a")[0].classes == {"skip"}
    assert not [node.tag for node in page.walk() if node.tag in ("script", "iframe", "object", "img", "link")]
    for node in page.walk():
        assert not [name for name in node.attributes if name.startswith("on") or name in ("style", "src", "srcset")]
        assert not node.attributes.get("href", "").startswith(("http", "//", "javascript", "data"))
    _expect_ids_that_lead_somewhere(page)
    _expect_headings_in_steps(page)
    _expect_labels(page)


def _expect_ids_that_lead_somewhere(page: Node) -> None:
    ids = [node.attributes["id"] for node in page.walk() if "id" in node.attributes]
    assert len(set(ids)) == len(ids), sorted(name for name in ids if ids.count(name) > 1)
    for node in page.walk():
        led = [node.attributes[name] for name in ("for",) if name in node.attributes]
        led += [
            name for each in ("aria-labelledby", "aria-describedby") for name in node.attributes.get(each, "").split()
        ]
        if node.attributes.get("href", "").startswith("#"):
            led.append(node.attributes["href"][1:])
        assert set(led) <= set(ids), set(led) - set(ids)


def _expect_headings_in_steps(page: Node) -> None:
    levels = [int(node.tag[1]) for node in page.one("main").walk() if node.tag in ("h1", "h2", "h3", "h4")]
    assert levels[0] == 1
    assert all(later <= earlier + 1 for earlier, later in itertools.pairwise(levels)), levels


def _expect_labels(page: Node) -> None:
    labelled = {node.attributes["for"] for node in page.all("label") if "for" in node.attributes}
    wrapped = {id(control) for label in page.all("label") for control in label.walk() if control.tag in CONTROLS}
    for control in page.walk():
        if control.tag in ("input", "select", "textarea"):
            assert control.attributes.get("id") in labelled or id(control) in wrapped, control.attributes
    for fieldset in page.all("fieldset"):
        assert fieldset.nodes[0].tag == "legend"
        assert fieldset.nodes[0].text
