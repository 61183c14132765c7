"""Who may speak to the desk: this machine's browser with the token, from the desk's own pages.

Against pages of other origins (OWASP: cross-site request forgery, DNS rebinding): the host
must be the desk's own address, whatever changes something must come from it (RFC 6454,
Fetch Metadata), and everything needs the cookie that only the opening address gives.
"""

import asyncio
from collections.abc import Mapping
from http.cookies import CookieError, SimpleCookie
from secrets import compare_digest

from starlette.datastructures import Headers, MutableHeaders
from starlette.exceptions import HTTPException
from starlette.responses import PlainTextResponse
from starlette.types import ASGIApp, Message, Receive, Scope, Send

COOKIE = "apoyando_desk"
LARGEST_BODY_BYTES = 8 * 1024 * 1024
"""A lead sheet as MusicXML has less than one."""
BODY_SECONDS = 20.0
OPENING = "/open"
_READING = frozenset({"GET", "HEAD"})
_OWN_SITE = frozenset({"", "same-origin", "none"})
HEADERS: Mapping[str, str] = {
    "Content-Security-Policy": "default-src 'self'; base-uri 'none'; form-action 'self'; "
    "frame-ancestors 'none'; object-src 'none'",
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
}


class Guard:
    """Lets through what may speak to the desk. ``hosts`` are its own names with the port."""

    def __init__(self, app: ASGIApp, *, token: str, hosts: frozenset[str]) -> None:
        self._app = app
        self._token = token
        self._hosts = hosts

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            if scope["type"] == "lifespan":
                await self._app(scope, receive, send)
            return
        send = _with_headers(send)
        refusal = self._refuse(scope)
        if refusal:
            await refusal(scope, receive, send)
            return
        await self._app(scope, _Body(receive).receive, send)

    def _refuse(self, scope: Scope) -> PlainTextResponse | None:
        headers = Headers(scope=scope)
        if headers.get("host", "") not in self._hosts:
            return PlainTextResponse("This is not the address of the desk.", 421)
        if not self._is_from_here(scope["method"], headers):
            return PlainTextResponse("Only the desk's own pages may ask this.", 403)
        if scope["path"] != OPENING and not self._has_token(headers):
            return PlainTextResponse("Open the desk with the address that it told when it was started.", 403)
        if _says_too_large(headers):
            return PlainTextResponse(_TOO_LARGE, 413)
        return None

    def _is_from_here(self, method: str, headers: Headers) -> bool:
        origin = headers.get("origin", "")
        if origin and origin not in {f"http://{host}" for host in self._hosts}:
            return False
        if method in _READING:
            return True
        return bool(origin) and headers.get("sec-fetch-site", "") in _OWN_SITE

    def _has_token(self, headers: Headers) -> bool:
        try:
            cookies = SimpleCookie(headers.get("cookie", ""))
        except CookieError:
            return False
        return COOKIE in cookies and is_token(cookies[COOKIE].value, self._token)


def is_token(given: str, token: str) -> bool:
    return compare_digest(given.encode(), token.encode())


_TOO_LARGE = f"More than {LARGEST_BODY_BYTES // 2**20} MB are no song. Is this the right file?"


def _says_too_large(headers: Headers) -> bool:
    length = headers.get("content-length", "0")
    return not length.isdecimal() or int(length) > LARGEST_BODY_BYTES


def _with_headers(send: Send) -> Send:
    async def send_with_headers(message: Message) -> None:
        if message["type"] == "http.response.start":
            headers = MutableHeaders(scope=message)
            for name, value in HEADERS.items():
                headers[name] = value
            headers.setdefault("Cache-Control", "no-store")
        await send(message)

    return send_with_headers


class _Body:
    """What the browser sends, as long as it is small and comes in time. Raises HTTPException."""

    def __init__(self, receive: Receive) -> None:
        self._receive = receive
        self._size = 0
        self._is_whole = False
        self._deadline = asyncio.get_running_loop().time() + BODY_SECONDS

    async def receive(self) -> Message:
        if self._is_whole:
            return await self._receive()
        try:
            async with asyncio.timeout_at(self._deadline):
                message = await self._receive()
        except TimeoutError as error:
            raise HTTPException(408, "The file comes too slowly. Try again.") from error
        self._size += len(message.get("body", b""))
        self._is_whole = not message.get("more_body", False)
        if self._size > LARGEST_BODY_BYTES:
            raise HTTPException(413, _TOO_LARGE)
        return message
