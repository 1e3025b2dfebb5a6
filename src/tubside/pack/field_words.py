"""What each field of a pack's records holds, in words for whoever fills it in.

The same words stand in the page on writing a pack; a test holds the two together.
"""

from __future__ import annotations

FIELD_WORDS: dict[str, dict[str, str]] = {
    "causes": {
        "title": "in trade words",
        "kind": "user, site or component",
        "weight": "per 1000 calls, as the main cause",
        "cleared_by": (
            "who can clear it: customer, technician, plumber, electrician, gasfitter, refrigeration"
        ),
        "confirm_minutes": "minutes to be sure of it once suspected",
        "reported_as": "condition to share of calls with this cause alone, summing to one",
        "shows": "chance that it shows on one run; below 1 is intermittent",
        "ageing": "Weibull shape: 1 does not age, wear 2.5 to 3.5, faults of installation below 1",
        "source": "source mark",
        "plain": "optional: words for the customer",
        "hazards": "optional: cautions that come with it",
        "variants": "optional: axis to the constructions that can have it",
        "leads_to": "optional: another cause to the factor by which it makes that one likelier",
        "moves": "optional: parameter of the machine to how far the cause moves it",
        "without_physics": (
            "optional: condition of reported_as that its moves cannot bring about, to the reason"
        ),
    },
    "findings": {
        "title": "the state in trade words",
        "graded": "outcome to plain words, worst first; or",
        "kinds": "outcome to plain words, without order",
        "dominance": "with kinds: the causes, the one that decides first",
        "healthy": "chance of each outcome on a healthy machine, in order",
        "causes": "cause to its row of chances, in order",
        "source": "source mark",
        "needs_fault": "optional: true when it can be seen only while the fault shows",
        "danger": "optional: outcome to the danger it reports",
        "sources": "optional: cause to the mark of its row, where it differs",
    },
    "checks": {
        "title": "what is looked at",
        "how": "the instruction to a technician",
        "where": "phone, site or either",
        "who": "customer, technician or both",
        "minutes": "minutes it takes, covers apart",
        "power": "live, dead or any",
        "normal": "what is normal",
        "cautions": "what can hurt, by id; shown first",
        "source": "source mark",
        "finding": "the finding it looks at; or",
        "variant": "the axis it settles; or",
        "reading": "the number it measures",
        "say": "what is read to a customer; required when a customer may do it",
        "tools": "optional: tools",
        "error": "optional: observer to chance of a wrong answer",
        "customer_step": "required when a customer may do it",
        "behind": "optional: the cover that must come off",
        "at_stage": (
            "optional: the stage that must run for it; not proposed while a gate before it fails"
        ),
        "needs": "optional: axis to the constructions on which it can be done",
    },
    "remedies": {
        "title": "what is done",
        "how": "the instruction to a technician",
        "where": "phone, site or either",
        "who": "customer, technician or both",
        "minutes": "minutes to do it, covers apart",
        "rerun_minutes": "minutes of the re-run",
        "clears": "cause to the chance of clearing it",
        "power": "live, dead or any",
        "cautions": "what can hurt, by id; shown first",
        "source": "source mark",
        "say": "what is read to a customer; required when a customer may do it",
        "tools": "optional: tools",
        "parts": "optional: part kinds used",
        "customer_step": "required when a customer may do it",
        "behind": "optional: the cover that must come off",
        "needs": "optional: axis to the constructions on which it can be done",
    },
    "conditions": {
        "title": "in trade words",
        "kind": "stopping (the controller stops) or symptom (people notice)",
        "stages": "the stages in which it can show, the main one first",
        "rank": "order within the stage: the lower, the sooner it is noticed",
        "leak": "chance that it shows with none of the pack's causes, about 0.001 to 0.004",
        "source": "source mark",
        "said_as": "optional: other condition to the chance that people name that one",
        "danger": "optional: gas, shock, burning, smoke, tripping or water-at-plug",
        "words": "optional: what people say for it",
    },
    "parts": {
        "title": "in trade words",
        "price_low": "lower end of the buying price",
        "price_high": "upper end",
        "carried": "true when it is always aboard",
        "source": "source mark",
    },
    "stops": {
        "title": "in trade words",
        "kind": "refer to a licensed trade, scrap, or return to seller or insurer",
        "how": "what to do and to tell",
        "source": "source mark",
        "trade": "with refer: plumber, electrician, gasfitter or refrigeration",
        "cost": (
            "the expected bill and wait; left out for scrap, where it follows from age and price"
        ),
        "up_to_years": "optional: only for machines up to this age",
    },
    "cautions": {
        "harm": "what can hurt",
        "do": "what to do about it",
    },
    "covers": {
        "title": "the cover in trade words",
        "open_minutes": "minutes to take it off",
        "close_minutes": "minutes to put it back",
        "source": "source mark",
    },
}
"""Section -> field -> what it holds; those that begin with "optional" may be left out."""
