"""The phone's arithmetic in a real browser, against the same arithmetic in Python."""

from __future__ import annotations

import copy
from collections.abc import Iterator
from functools import cache
from typing import Any

import msgspec
import numpy as np
import pytest
from playwright.sync_api import Browser, Page, Route

from pocketed import FEW, Case, cases, filmed
from tubside.web.pages.rendering import STATIC, static_file, static_path
from tubside.web.security.headers import CONTENT_POLICY

SEED, JOBS, LATER, SETS, EVERY = 11, 26, 12, 90, 8
CLOSE = 1e-9
ADDRESS = "https://phone.test"

RECKON = """
async ([belief, few]) => {
  const list = await (await fetch("/told.json")).json();
  const { FactsDisagree, leftOut, marginals, nextSteps, openPocket, update } = await import(belief);
  const steps = (pocket, ...how) => nextSteps(pocket, ...how).steps.map((one) => [
    one.kind, one.index, one.expectedCost, one.cost, one.minutes, one.works,
    Number.isFinite(one.saves) ? one.saves : null,
  ]);
  const reckoned = (pocket, asked) => {
    const result = { stop: pocket.stop.length > 0, waits: pocket.waiting.length > 0 };
    try {
      const { now, atCall, healthy, mended } = marginals(pocket);
      Object.assign(result, { now: [...now], at_call: [...atCall], healthy, mended });
      result.left_out = leftOut(pocket);
      if (asked.one) result.one = steps(pocket, 0);
      if (asked.few) result.few = steps(pocket, 0, few);
      if (asked.two) result.two = steps(pocket, 1e9);
    } catch (wrong) {
      result.disagree = wrong instanceof FactsDisagree;
      if (!result.waits && !result.disagree) throw wrong;
    }
    return result;
  };
  return JSON.stringify(list.map(({ pocket, facts, vectors }) => {
    const told = [openPocket(pocket)];
    for (const fact of facts) told.push(update(told.at(-1), fact));
    return vectors.map((one) => reckoned(told[one.told], one));
  }));
}
"""


@cache
def made() -> tuple[Case, ...]:
    """The jobs, made once."""
    return tuple(cases(SEED, JOBS, LATER, SETS, EVERY))


def answer(route: Route) -> None:
    """Our own files at their addresses; an empty page under our own policy elsewhere."""
    path = route.request.url.removeprefix(ADDRESS)
    found = [name for name in STATIC if static_path(name) == path]
    if found:
        route.fulfill(body=static_file(found[0]), content_type=STATIC[found[0]])
    else:
        headers = {"content-security-policy": CONTENT_POLICY}
        page = "<!doctype html><title>phone</title>"
        route.fulfill(body=page, content_type="text/html", headers=headers)


@pytest.fixture(scope="module")
def phone(chromium: Browser) -> Iterator[Page]:
    """A page that has nothing but our files."""
    page = chromium.new_page()
    page.route("**/*", answer)
    page.goto(f"{ADDRESS}/")
    yield page
    page.close()


@pytest.fixture(scope="module")
def found(phone: Page) -> list[list[dict[str, Any]]]:
    """What the browser comes to, for every vector of every job."""
    told = [case.as_data() for case in made()]
    for one in told:
        asked = [
            {k: bool(v.get(k)) for k in ("one", "few", "two")} | {"told": v["told"]}
            for v in one["vectors"]
        ]
        one["vectors"] = asked
    return reckoned(phone, told)


def reckoned(phone: Page, told: list[dict[str, Any]]) -> list[list[dict[str, Any]]]:
    """What the browser comes to for these pockets."""
    text = msgspec.json.encode(told)
    phone.route("**/told.json", lambda route: route.fulfill(body=text))
    result: list[list[dict[str, Any]]]
    result = msgspec.json.decode(phone.evaluate(RECKON, [static_path("belief.js"), FEW]))
    phone.unroute("**/told.json")
    return result


def pairs(found: list[list[dict[str, Any]]]) -> list[tuple[dict[str, Any], dict[str, Any], str]]:
    """What the browser has, what Python has, and which vector it is."""
    return [
        (mine, theirs, f"job {number}, after {theirs['told']} facts")
        for number, (case, several) in enumerate(zip(made(), found, strict=True))
        for mine, theirs in zip(several, case.vectors, strict=True)
    ]


def test_beliefs_agree(found: list[list[dict[str, Any]]]) -> None:
    """Tests that over 300 beliefs are the same to 1e-9, and what waits is the same."""
    compared = 0
    for mine, theirs, where in pairs(found):
        assert (mine["stop"], mine["waits"]) == (theirs["stop"], theirs["waits"]), where
        if theirs["waits"]:
            continue
        compared += 1
        for key in ("now", "at_call", "healthy", "mended", "left_out"):
            assert np.allclose(mine[key], theirs[key], rtol=0.0, atol=CLOSE), (where, key)
    assert compared >= 300


def test_a_filmed_panel_counts_on_the_phone(phone: Page) -> None:
    """Tests that a clip read before counts to 1e-9, and that one read later waits for signal."""
    case = filmed(SETS)
    told = case.as_data()
    told["vectors"] = [{"told": number, "one": number < 2, "two": False} for number in range(3)]
    ((before, after, late),) = reckoned(phone, [told])
    for mine, theirs in zip((before, after), case.vectors, strict=True):
        for key in ("now", "at_call", "healthy", "mended", "left_out"):
            assert np.allclose(mine[key], theirs[key], rtol=0.0, atol=CLOSE), key
    assert not before["waits"]
    assert late["waits"]


def test_the_vectors_hold_all_that_can_be_told() -> None:
    """Tests that the vectors reach every kind of fact, dangers, bins and what must wait."""
    vectors = [vector for case in made() for vector in case.vectors]
    kinds = {type(body).__name__ for case in made() for body in case.later}
    wanted = {"CheckDone", "RemedyDone", "ReadingDone", "ConditionAsked", "DangerTold", "Place"}
    assert kinds >= wanted | {"CameBack", "PartsAboard", "Payer"}
    assert sum(vector["stop"] for vector in vectors) >= 10
    assert sum(vector["waits"] for vector in vectors) >= 1
    assert sum(bool(vector.get("bins")) for vector in vectors) >= 30
    assert sum(bool(vector.get("one")) for vector in vectors) >= 25
    assert sum(bool(vector.get("two")) for vector in vectors) >= 4


@pytest.mark.parametrize("ahead", ["one", "few", "two"])
def test_steps_agree(found: list[list[dict[str, Any]]], ahead: str) -> None:
    """Tests that steps stand in the same order at the same costs; equal ones may change places.

    A danger told on the phone leaves no step at all.
    """
    for mine, theirs, where in pairs(found):
        if not theirs.get(ahead):
            continue
        if theirs["stop"]:
            assert mine[ahead] == [], where
            continue
        assert len(mine[ahead]) == len(theirs[ahead]), where
        place = {(step[0], step[1]): step for step in theirs[ahead]}
        for step, there in zip(mine[ahead], theirs[ahead], strict=True):
            same = place[step[0], step[1]]
            assert step[2] == pytest.approx(there[2], rel=CLOSE), where
            assert step[2:6] == pytest.approx(same[2:6], rel=CLOSE, abs=CLOSE), where
            assert (step[6] is None) == (same[6] is None), where
            assert step[6] is None or step[6] == pytest.approx(same[6], rel=CLOSE, abs=CLOSE), where


def test_facts_that_cannot_all_be_true(phone: Page) -> None:
    """Tests that a belief with no set left is refused, and nothing is told of it."""
    told = copy.deepcopy(made()[0].as_data())
    told["pocket"]["evidence"]["settled"] = [[0, [0.0] * len(told["pocket"]["words"]["causes"])]]
    told |= {"facts": [], "vectors": [{"told": 0}]}
    assert reckoned(phone, [told]) == [[{"stop": False, "waits": False, "disagree": True}]]


def ask(phone: Page, script: str, told: dict[str, Any]) -> Any:
    """Run ``script`` with everything of the module as ``b`` and a job as ``told``."""
    body = f"async ([path, told]) => {{ const b = await import(path); {script} }}"
    return phone.evaluate(body, [static_path("belief.js"), told])


def test_what_is_taken_back_on_the_phone(phone: Page) -> None:
    """Tests that a fact told and taken back on the phone leaves everything as it was."""
    script = """
      const first = b.openPocket(told.pocket);
      const later = told.facts.slice(0, 3).reduce(b.update, first);
      const retract = { body: { kind: "retract", fact: told.facts[1].id } };
      const without = b.update(b.update(first, told.facts[0]), told.facts[2]);
      const now = (pocket) => [...b.marginals(pocket).now];
      const other = b.update(first, { body: { kind: "retract", fact: "somebody-elses" } });
      return [now(b.update(later, retract)), now(without), other.waiting.length];
    """
    told = made()[0].as_data()
    back, without, waits = ask(phone, script, told)
    assert back == without
    assert waits == 1


@pytest.mark.parametrize(
    "body",
    [
        {"kind": "machine", "age_years": 3},
        {"kind": "indication", "lamps": {}},
        {"kind": "check", "check": "no-such-check", "outcome": "yes", "by": "customer"},
        {"kind": "something-new"},
    ],
)
def test_what_the_phone_cannot_count_waits(phone: Page, body: dict[str, Any]) -> None:
    """Tests that no number is told once a fact is there that the phone cannot work in."""
    script = """
      const pocket = b.update(b.openPocket(told.pocket), { id: "late", body: told.body });
      const refusal = (ask) => { try { ask(pocket); return ""; } catch (e) { return e.name; } };
      return [b.chances, b.marginals, b.leftOut, b.nextSteps].map(refusal);
    """
    case = next(c for c in made() if not c.told["dangers"])
    assert ask(phone, script, case.as_data() | {"body": body}) == ["NeedsSignal"] * 4


def test_a_danger_comes_before_everything(phone: Page) -> None:
    """Tests that a danger told on the phone gives its words and no step, gas alone."""
    script = """
      const tell = (kinds) => ({ body: { kind: "danger", kinds } });
      const one = b.update(b.openPocket(told.pocket), tell(["shock", "smoke"]));
      const two = b.update(one, tell(["gas"]));
      const waits = b.update(two, { body: { kind: "machine" } });
      return [one, two, waits].map((p) => b.nextSteps(p)).map((n) => [n.stop, n.steps.length]);
    """
    case = next(c for c in made() if not c.told["dangers"])
    one, two, waits = ask(phone, script, case.as_data())
    assert [said["danger"] for said in one[0]] == ["shock", "smoke"]
    assert [said["danger"] for said in two[0]] == ["gas"]
    assert waits == two
    assert one[1] == two[1] == 0
    assert "Do not touch the machine" in one[0][0]["say"]


@pytest.mark.parametrize("change", [{"version": 99}, {"ready": False, "why": "closed"}])
def test_a_pocket_that_cannot_be_read(phone: Page, change: dict[str, Any]) -> None:
    """Tests that a pocket of another version, or one that holds nothing, is refused in words."""
    script = "try { b.openPocket(told); return ''; } catch (wrong) { return wrong.name; }"
    pocket = made()[0].as_data()["pocket"] | change
    assert ask(phone, script, pocket) == "NeedsSignal"


def test_pockets_are_plain_json() -> None:
    """Tests that a pocket reads back from its JSON as it was."""
    for case in made()[:4]:
        text = msgspec.json.encode(case.as_data())
        assert b"NaN" not in text
        assert msgspec.json.decode(text) == case.as_data()
