"""The shop's figures on one quiet page."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response

from tubside.service.figures import Figures, figures
from tubside.service.roles import check_office
from tubside.web.pages.desk import Desk, Form
from tubside.web.pages.figures_drawing import columns
from tubside.web.security.login_page import session_in


def show(desk: Desk, request: Request, _form: Form) -> Response:
    """How the last half year went."""
    session = session_in(request)
    check_office(None if session is None else session.user, "see the shop's figures")
    told = figures(desk.store, desk.clock())
    values = {
        "told": told,
        "closed": columns(
            told.weeks, lambda week: week.closed, closed_words(told), lambda week: week.came_back
        ),
        "closed_words": closed_words(told),
        "minutes": columns(told.weeks, lambda week: week.minutes, minutes_words(told)),
        "minutes_words": minutes_words(told),
        "takings": columns(told.weeks, lambda week: week.takings / 100, takings_words(told)),
        "takings_words": takings_words(told),
    }
    return desk.render(request, "figures.html", values, 200)


def closed_words(told: Figures) -> str:
    """The drawing of jobs in words."""
    most = max(told.weeks, key=lambda week: week.closed)
    words = f"{told.closed} jobs closed in {len(told.weeks)} weeks, {told.came_back} came back"
    if not most.closed:
        return words
    return f"{words}; most in the week of {most.monday.day} {most.monday:%b}, {most.closed}"


def minutes_words(told: Figures) -> str:
    """The drawing of minutes in words."""
    if told.minutes is None:
        return "Nobody told yet when a machine was reached and left"
    return f"Minutes at a machine, the middle one: {told.minutes:.0f}"


def takings_words(told: Figures) -> str:
    """The drawing of takings in words."""
    whole = sum(week.takings for week in told.weeks) / 100
    last = told.weeks[-1].takings / 100
    return f"{whole:,.2f} taken in {len(told.weeks)} weeks, {last:,.2f} in this one"
