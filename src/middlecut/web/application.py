# SPDX-License-Identifier: MIT
"""Put the pages together."""

from __future__ import annotations

from fastapi import FastAPI
from starlette.responses import Response
from starlette.staticfiles import StaticFiles
from starlette.types import Scope

import middlecut
from middlecut.web.faults import install_fault_pages
from middlecut.web.gate import Gate
from middlecut.web.menu import page_modules
from middlecut.web.render import STATIC
from middlecut.web.services import Services

__all__ = ["create_app"]


def create_app(services: Services) -> FastAPI:
    """Return the app: every page, behind the gate.

    Parameters
    ----------
    services : Services
        What the pages work with.

    Returns
    -------
    application : FastAPI
    """
    application = FastAPI(
        title="middlecut",
        version=middlecut.__version__,
        docs_url=None,  # its pages load scripts from elsewhere
        redoc_url=None,
        openapi_url="/api/openapi.json",
    )
    application.state.services = services
    application.mount("/static", _Static(directory=STATIC), name="static")
    for module in page_modules():
        application.include_router(module.router)
    install_fault_pages(application)
    application.add_middleware(Gate, services=services)
    return application


class _Static(StaticFiles):
    """Files whose address changes with their content may be kept for ever."""

    async def get_response(self, path: str, scope: Scope) -> Response:
        answer = await super().get_response(path, scope)
        if b"v=" in scope.get("query_string", b""):
            answer.headers["cache-control"] = "public, max-age=31536000, immutable"
        return answer
