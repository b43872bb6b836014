# SPDX-License-Identifier: MIT
"""One shape for everything that goes wrong: a page for people, JSON for programs.

JSON is given under ``/api/`` and wherever a request prefers it::

    {"error": {"status": 422, "code": "input", "title": "...", "message": "...",
               "field": "...", "allowed": "...", "remedy": "...", "problems": []}}

A request of htmx gets the same content as a fragment, which it puts where the answer would go.
"""

from __future__ import annotations

import logging
import secrets
from dataclasses import asdict, dataclass
from typing import Any

from fastapi import FastAPI
from fastapi.exceptions import RequestValidationError
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.types import Scope

from middlecut.errors import (
    ConflictError,
    ConvergenceError,
    InputError,
    MiddlecutError,
    NotFoundError,
    OutOfRangeError,
    PlanError,
    StoreError,
)
from middlecut.units import System
from middlecut.units.worded import worded
from middlecut.web.render import render, wants_fragment

__all__ = ["Refusal", "answer_refusal", "install_fault_pages", "note_fault", "refusal_of"]

_LOG = logging.getLogger("middlecut.web")


@dataclass(frozen=True, slots=True)
class Refusal:
    """Something that is not done, and why.

    Parameters
    ----------
    status : int
        HTTP status.
    code : str
        Stable word for programs.
    title, message : str
        For people.
    field, allowed, remedy : str
        Of an input that cannot be used.
    problems : tuple of dict
        Of a plan, each with key, value, message, remedy and line.
    """

    status: int
    code: str
    title: str
    message: str
    field: str = ""
    allowed: str = ""
    remedy: str = ""
    problems: tuple[dict[str, Any], ...] = ()


def refusal_of(error: MiddlecutError, *, system: System = "metric") -> Refusal:
    """Return what to answer to an error that was raised on purpose; its range in given units."""
    message = str(error)
    if isinstance(error, PlanError):
        problems = tuple(asdict(problem) for problem in error.problems)
        return Refusal(422, "plan", _ON_PURPOSE[InputError][2], message, problems=problems)
    if isinstance(error, OutOfRangeError):
        value, allowed = worded(error, system=system)
        error = InputError(error.field, error.value, allowed, error.remedy)
        message = f"{error.field}: {value} is not usable; {allowed}. {error.remedy}".rstrip()
    if isinstance(error, InputError):
        status, code, title, _ = _ON_PURPOSE[InputError]
        return Refusal(status, code, title, message, error.field, error.allowed, error.remedy)
    if isinstance(error, NotFoundError):
        status, code, _, _ = _ON_PURPOSE[NotFoundError]
        return Refusal(status, code, f"There is no such {error.kind} here", message)
    for kind, (status, code, title, remedy) in _ON_PURPOSE.items():
        if isinstance(error, kind):
            return Refusal(status, code, title, message, remedy=remedy)
    return Refusal(500, "fault", "A fault of middlecut", message)


_ON_PURPOSE: dict[type[MiddlecutError], tuple[int, str, str, str]] = {
    InputError: (422, "input", "That cannot be used as it is", ""),
    NotFoundError: (404, "not-found", "There is no such thing here", ""),
    ConflictError: (
        409,
        "conflict",
        "Somebody else was first",
        "Nothing was overwritten. Look at what is there now, then enter yours again.",
    ),
    StoreError: (
        507,
        "store",
        "The record cannot be written",
        "Nothing that was acknowledged is lost. Keep this page open and try again.",
    ),
    ConvergenceError: (422, "no-convergence", "The numbers do not settle", ""),
}
"""Status, code, title and remedy by kind of error."""


def answer_refusal(refusal: Refusal, request: Request) -> Response:
    """Return the answer in the form the request wants."""
    if _wants_json(request):
        return JSONResponse({"error": asdict(refusal)}, refusal.status)
    template = "parts/refusal.html" if wants_fragment(request) else "refusal.html"
    return render(request, template, refusal.status, refusal=refusal)


def install_fault_pages(application: FastAPI) -> None:
    """Answer every error of the application in the one shape."""
    application.add_exception_handler(MiddlecutError, _on_purpose)
    application.add_exception_handler(HTTPException, _of_http)
    application.add_exception_handler(RequestValidationError, _of_validation)


def _wants_json(request: Request) -> bool:
    if request.url.path.startswith("/api/"):
        return True
    accept = request.headers.get("accept", "")
    return "application/json" in accept and "text/html" not in accept


def _on_purpose(request: Request, error: Exception) -> Response:
    if not isinstance(error, MiddlecutError):
        raise error
    preferences = getattr(request.state, "preferences", None)
    system: System = "metric" if preferences is None else preferences.units
    return answer_refusal(refusal_of(error, system=system), request)


_PLAIN_404 = "Not Found"
"""What the framework says of an address that leads nowhere."""
_LONGEST_PATH = 80

_TITLES = {
    400: "That request cannot be understood",
    404: "There is no such page",
    405: "That cannot be done here",
    413: "What was sent is too large",
}


def _of_http(request: Request, error: Exception) -> Response:
    if not isinstance(error, HTTPException):
        raise error
    title = _TITLES.get(error.status_code, "That cannot be done")
    message = str(error.detail)
    if message == _PLAIN_404:
        path = request.url.path
        shown = path if len(path) <= _LONGEST_PATH else f"{path[:_LONGEST_PATH]}…"
        message = f"middlecut has no page at {shown}. An old link or a slip of the keyboard?"
    refusal = Refusal(error.status_code, "http", title, message)
    answer = answer_refusal(refusal, request)
    for name, value in (error.headers or {}).items():
        answer.headers[name] = value
    return answer


def _of_validation(request: Request, error: Exception) -> Response:
    if not isinstance(error, RequestValidationError):
        raise error
    first = error.errors()[0]
    field = ".".join(str(part) for part in first["loc"][1:]) or "request"
    refusal = Refusal(
        422,
        "input",
        "That cannot be used as it is",
        f"{field}: {first['msg']}.",
        field,
        first["msg"],
    )
    return answer_refusal(refusal, request)


def note_fault(fault: Exception, scope: Scope) -> Refusal:
    """Log what should not happen and return what to say about it."""
    name = secrets.token_hex(4)
    _LOG.error("fault %s at %s %s", name, scope["method"], scope["path"], exc_info=fault)
    message = (
        f"This should not happen. The terminal that runs middlecut shows it under {name}. "
        "Nothing that was acknowledged is lost."
    )
    return Refusal(500, "fault", "A fault of middlecut", message)
