"""The beginning of a job, when there is none yet."""

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from flatgen.served.shell import page


def _begin(request: Request) -> Response:
    return page(request, "begin.html")


ROUTES = [Route("/begin", _begin)]
