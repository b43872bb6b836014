# SPDX-License-Identifier: MIT
"""Devices: let a phone in, see who is in, shut one out."""

from __future__ import annotations

from typing import Annotated

import segno
from fastapi import APIRouter, Form
from markupsafe import Markup
from starlette.responses import RedirectResponse, Response

from middlecut.app.use_cases import pair_device, revoke_device
from middlecut.web.faults import Refusal, answer_refusal
from middlecut.web.forms import FormState
from middlecut.web.pairing import COOKIE, TooManyAttempts, digest_of, new_secret
from middlecut.web.visit import Visit, Visiting

__all__ = ["pairing_offer", "router"]

router = APIRouter()

_YEAR = 365 * 24 * 3600
_ONLY_HERE = Refusal(
    403,
    "only-at-the-computer",
    "This is done at the computer",
    "Devices are let in and shut out on the computer that runs middlecut.",
)


@router.get("/devices")
def show(visit: Visiting) -> Response:
    """Show the devices, and at the computer itself the code for a new one."""
    devices = sorted(visit.record.workshop().devices.values(), key=lambda one: one.since)
    return visit.page(
        "devices/devices.html",
        devices=devices,
        own=visit.who.device,
        address=visit.services.address,
        offer=pairing_offer(visit),
    )


@router.post("/devices/{device}/revoke")
def revoke(visit: Visiting, device: str) -> Response:
    """Shut a device out."""
    if visit.who.device:
        return answer_refusal(_ONLY_HERE, visit.request)
    revoke_device(visit.record, device, entry=visit.entry())
    return visit.go("/devices", said="revoked")


@router.get("/pair")
def ask(visit: Visiting, code: str = "") -> Response:
    """Show the form that pairs this device; the code comes with the scanned address."""
    if visit.who.device:
        return RedirectResponse("/", 303)
    return _pair_page(visit, FormState({"code": code[:40], "name": ""}))


@router.post("/pair")
def pair(
    visit: Visiting,
    *,
    code: Annotated[str, Form()] = "",
    name: Annotated[str, Form()] = "",
) -> Response:
    """Let this device in if the code is right."""
    form = FormState({"code": code, "name": name})
    words = form.text("name", "Name of this device", required=True, longest=60)
    form.text("code", "Code", required=True)
    if not form.good:
        return _pair_page(visit, form, 422)
    client = visit.request.client.host if visit.request.client else ""
    try:
        good = visit.services.desk.redeem(code, client=client, now=visit.now)
    except TooManyAttempts:
        return _too_many(visit)
    if not good:
        form.fault("code", "this code is not, or no longer, the right one", _HOW, "Code")
        return _pair_page(visit, form, 403)
    secret = new_secret()
    pair_device(visit.record, words, digest_of(secret), entry=visit.entry())
    answer = visit.go("/", said="paired")
    answer.set_cookie(
        COOKIE,
        secret,
        max_age=_YEAR,
        httponly=True,
        samesite="strict",
        secure=visit.request.url.scheme == "https",
    )
    return answer


_HOW = "On the computer open Devices and take the code shown there; each works once."


def pairing_offer(visit: Visit) -> tuple[str, Markup] | None:
    """Return code and picture for a new device; None unless asked at the computer itself."""
    address = visit.services.address
    if visit.who.device or not address.shared:
        return None
    code = visit.services.desk.offer(visit.now)
    picture = segno.make(address.link(f"/pair?code={code}"), error="m").svg_inline(
        border=3, omitsize=True, dark="#000", light="#fff", title="Address that pairs a device"
    )
    return code, Markup(picture)  # noqa: S704 - made of our own address and code


def _pair_page(visit: Visit, form: FormState, status: int = 200) -> Response:
    return visit.page("devices/pair.html", status, form=form)


def _too_many(visit: Visit) -> Response:
    refusal = Refusal(
        429,
        "too-many-attempts",
        "Too many wrong codes",
        "Nobody is let in for up to ten minutes. Then take a new code from the Devices page.",
    )
    answer = answer_refusal(refusal, visit.request)
    answer.headers["retry-after"] = "600"
    return answer
