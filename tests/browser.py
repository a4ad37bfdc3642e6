"""A real browser for the tests marked `browser`; it notes everything that a person should never meet."""

import os
import shutil
from collections.abc import Callable, Iterator
from urllib.parse import urlsplit

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.conf import settings
from django.test import Client
from playwright.sync_api import Browser, Page, sync_playwright

DESK = {"width": 1440, "height": 900}
SMALL_DESK = {"width": 1024, "height": 768}
PHONE = {"width": 390, "height": 844}
ARGUMENTS = [
    "--no-sandbox",  # Chromium refuses its sandbox to root
    "--disable-gpu",
    "--disable-quic",
    "--disable-dev-shm-usage",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--no-first-run",
    "--host-resolver-rules=MAP * ~NOTFOUND, EXCLUDE localhost, EXCLUDE 127.0.0.1",
]

GIVEN_UP = ("htmx:afterRequest", "htmx:sendAbort")
"""What htmx writes as errors when a newer request replaces one under way, or the page is left. A request that really
failed is written as `htmx:sendError`, `htmx:responseError` or `htmx:timeout` besides."""


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    program = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")
    if program is None:
        complain = pytest.fail if os.environ.get("REGISTER_REQUIRE_ALL") else pytest.skip
        complain("Chromium was not found (Debian: apt-get install chromium libatomic1)")
    # Playwright keeps an event loop in this thread, and Django takes that for asynchronous code, which this is not.
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("DJANGO_ALLOW_ASYNC_UNSAFE", "1")
        with sync_playwright() as playwright:
            chromium = playwright.chromium.launch(executable_path=program, args=ARGUMENTS)
            yield chromium
            chromium.close()


@pytest.fixture
def page_faults() -> Iterator[list[str]]:
    """What the browser complained of. A test that provokes a complaint looks at it here, then clears it."""
    faults: list[str] = []
    yield faults
    assert faults == []


@pytest.fixture
def open_page(browser, live_server, page_faults) -> Iterator[Callable[..., Page]]:
    """Opens a page of a given size in a browser profile of its own, empty of sign-ins."""
    contexts = []

    def open_page(size: dict[str, int] = DESK) -> Page:
        context = browser.new_context(base_url=live_server.url, viewport=size, has_touch=size == PHONE)
        contexts.append(context)
        context.set_default_timeout(15_000)
        page = context.new_page()
        watch(page, urlsplit(live_server.url).netloc, page_faults)
        return page

    yield open_page
    for context in contexts:
        context.close()


@pytest.fixture
def page(open_page) -> Page:
    """A page on a desk's screen."""
    return open_page(DESK)


@pytest.fixture
def phone_page(open_page) -> Page:
    """A page on a phone."""
    return open_page(PHONE)


@pytest.fixture
def sign_in(person, live_server) -> Callable[[Page, str], None]:
    """Signs a person with a role in on a page, past the sign-in form."""

    def sign_in(page: Page, role: str) -> None:
        client = Client()
        client.force_login(person(role), backend="django.contrib.auth.backends.ModelBackend")
        key = client.cookies[settings.SESSION_COOKIE_NAME].value
        page.context.add_cookies([{"name": settings.SESSION_COOKIE_NAME, "value": key, "url": live_server.url}])

    return sign_in


def watch(page: Page, host: str, faults: list[str]) -> None:
    """Note console errors, exceptions, failed requests, and requests to any host but the register's."""

    def on_request(request) -> None:
        address = urlsplit(request.url)
        if address.scheme in ("http", "https", "ws", "wss") and address.netloc != host:
            faults.append(f"request to another host: {request.url}")

    def on_failure(request) -> None:
        if request.failure != "net::ERR_ABORTED":  # the browser's word for a download, and for a page left early
            faults.append(f"request failed: {request.url}: {request.failure}")

    page.context.on("request", on_request)
    page.on("requestfailed", on_failure)
    page.on(
        "console",
        lambda message: (
            message.type == "error"
            and not message.text.startswith(GIVEN_UP)
            and faults.append(f"console: {message.text}")
        ),
    )
    page.on("pageerror", lambda error: faults.append(f"script: {error}"))


def assert_accessible(page: Page) -> None:
    """No violation of WCAG 2.2 A or AA that axe-core can see."""
    tags = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]
    report = Axe().run(page, options={"runOnly": {"type": "tag", "values": tags}})
    assert report.violations_count == 0, report.generate_report()


def assert_readable_in_every_theme(page: Page) -> None:
    """Enough contrast in the themes that a test does not run in anyway."""
    for theme in ("dark", "sunlight"):
        page.evaluate("theme => document.documentElement.dataset.theme = theme", theme)
        report = Axe().run(page, options={"runOnly": {"type": "rule", "values": ["color-contrast"]}})
        assert report.violations_count == 0, f"{theme}: {report.generate_report()}"
    page.evaluate("document.documentElement.dataset.theme = 'device'")


def assert_fits_at_twice_the_text(page: Page) -> None:
    """Nothing is lost sideways when a person has their text twice as large (WCAG 2.2, 1.4.4)."""
    page.evaluate("document.documentElement.style.fontSize = '200%'")
    try:
        assert_fits(page)
    finally:
        page.evaluate("document.documentElement.style.fontSize = ''")


def assert_fits(page: Page) -> None:
    """The page as a whole does not scroll sideways."""
    width, seen = page.evaluate("[document.documentElement.scrollWidth, document.documentElement.clientWidth]")
    assert width <= seen, f"{page.url} is {width} px wide on a screen of {seen} px"
