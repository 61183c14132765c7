"""The opening address: it brings the token, and leaves it with the browser as a cookie."""

from starlette.requests import Request
from starlette.responses import HTMLResponse, PlainTextResponse, Response

from apoyando.desk.guard import COOKIE, is_token
from apoyando.desk.shown import show


async def open_desk(request: Request) -> Response:
    """A page that goes on to the shelf by itself: what follows then comes from the desk's own page,
    and carries the cookie even where the address was opened from elsewhere.
    """
    token = request.app.state.token
    if not is_token(request.query_params.get("token", ""), token):
        return PlainTextResponse("This address is of another run of the desk. Use the one it told last.", 403)
    response = HTMLResponse(show("opening.html"))
    response.set_cookie(COOKIE, token, path="/", httponly=True, samesite="strict")
    return response
