"""The frame of every page: navigation, errors, themes, phone, keys; accessible as axe-core and WCAG 2.2 measure it."""

import gzip
from pathlib import Path

import pytest
from django.conf import settings
from django.core.exceptions import SuspiciousOperation
from django.http import HttpResponse
from django.urls import include, path

from register.urls import urlpatterns as register_urls
from tests.browser import DESK, PHONE, assert_accessible, assert_fits


def fails(request):
    raise ZeroDivisionError


def is_suspicious(request):
    raise SuspiciousOperation


def not_written(request):
    return HttpResponse()


urlpatterns = [
    path("fails/", fails),
    path("suspicious/", is_suspicious),
    path("upload/", include(([path("", not_written, name="upload")], "exchange"))),
    *register_urls,
]
with_test_pages = pytest.mark.urls(__name__)


@pytest.mark.parametrize(
    ("role", "seen"), [("planner", True), ("administrator", True), ("technician", False), ("auditor", False)]
)
@with_test_pages
def test_only_those_who_may_import_find_it_in_the_navigation(signed_in, role, seen):
    assert (">Import</a>" in signed_in(role).get("/").content.decode()) is seen


@with_test_pages
def test_a_fault_of_ours_says_what_was_saved_and_what_to_do_and_shows_no_trace(signed_in):
    client = signed_in("planner")
    client.raise_request_exception = False
    answer = client.get("/fails/")
    page = answer.content.decode()
    assert answer.status_code == 500
    assert "What you were saving was not saved" in page
    assert "ZeroDivisionError" not in page


@with_test_pages
def test_a_request_that_cannot_be_read_gets_a_page_of_its_own(signed_in):
    answer = signed_in("planner").get("/suspicious/")
    assert answer.status_code == 400
    assert "Nothing was changed." in answer.content.decode()


def test_an_address_with_nothing_behind_it_says_so_to_anyone(client, signed_in):
    for reader in (client, signed_in("auditor")):
        answer = reader.get("/no-such-page/<b>")
        assert answer.status_code == 404
        assert "The register has nothing at /no-such-page/&lt;b&gt;." in answer.content.decode()


def test_the_page_of_parts_is_for_staff_and_tells_others_which_role_they_have(signed_in):
    assert signed_in("administrator").get("/parts/").status_code == 200
    refused = signed_in("planner").get("/parts/")
    assert refused.status_code == 403
    assert "You are signed in as planner, planner." in refused.content.decode()


def test_what_a_first_visit_loads_is_under_150_kb_compressed():
    files = [one for one in (Path(settings.BASE_DIR) / "static").rglob("*") if one.suffix in {".css", ".js", ".svg"}]
    assert {one.name for one in files} >= {"register.css", "register.js", "htmx.min.js"}
    assert sum(len(gzip.compress(one.read_bytes())) for one in files) < 150_000


def choose_theme(page, theme: str) -> None:
    page.context.add_cookies([{"name": "theme", "value": theme, "url": page.url}])
    page.reload()


@pytest.mark.browser
@pytest.mark.parametrize("size", [DESK, PHONE], ids=["desk", "phone"])
def test_pages_are_accessible_and_fit_in_every_theme(open_page, sign_in, page_faults, size):
    for role, addresses in {
        None: ["/sign-in/", "/none/"],
        "administrator": ["/", "/parts/?wrong=1", "/password/"],
    }.items():
        page = open_page(size)
        if role:
            sign_in(page, role)
        for address in addresses:
            page.goto(address)
            for theme in ("light", "dark", "sunlight"):
                choose_theme(page, theme)
                assert_accessible(page)
                assert_fits(page)
    assert set(page_faults) == {
        "console: Failed to load resource: the server responded with a status of 404 (Not Found)"
    }
    page_faults.clear()


@pytest.mark.browser
def test_refusals_and_faults_are_accessible(open_page, sign_in, page_faults, settings):
    settings.ROOT_URLCONF = __name__
    page = open_page(PHONE)
    sign_in(page, "technician")
    for address in ("/parts/", "/suspicious/", "/fails/"):
        page.goto(address)
        assert_accessible(page)
        assert_fits(page)
    assert len(page_faults) == 3
    assert all("status of 4" in fault or "status of 5" in fault for fault in page_faults)
    page_faults.clear()


@pytest.mark.browser
def test_text_at_200_per_cent_fits_a_phone(phone_page, sign_in):
    """WCAG 2.2, 1.4.4 Resize Text."""
    sign_in(phone_page, "administrator")
    for address in ("/", "/parts/?wrong=1"):
        phone_page.goto(address)
        phone_page.evaluate("document.documentElement.style.fontSize = '200%'")
        assert_fits(phone_page)


@pytest.mark.browser
def test_everything_to_press_on_a_phone_is_44_px_high(phone_page, sign_in):
    """WCAG 2.2, 2.5.5 Target Size (Enhanced); links within a sentence are excepted there."""
    sign_in(phone_page, "administrator")
    phone_page.goto("/parts/?wrong=1")
    small = phone_page.evaluate("""
        [...document.querySelectorAll("button, .button, summary, select, nav a, tbody th a, input, .card-link")]
        .filter((one) => one.checkVisibility() && !one.matches("[type=hidden]") && one.id !== "content")
        .map((one) => one.matches("[type=checkbox], [type=radio]") ? one.closest("label") : one)
        .filter((one) => one.getBoundingClientRect().height < 44)
        .map((one) => one.outerHTML)
    """)
    assert small == []


CONTRAST = """
() => {
    const canvas = document.createElement("canvas").getContext("2d", { willReadFrequently: true });
    const light = (colour) => {
        canvas.fillStyle = colour;
        canvas.fillRect(0, 0, 1, 1);
        const [r, g, b] = [...canvas.getImageData(0, 0, 1, 1).data]
            .map((part) => part / 255)
            .map((part) => (part <= 0.04045 ? part / 12.92 : ((part + 0.055) / 1.055) ** 2.4));
        return 0.2126 * r + 0.7152 * g + 0.0722 * b;
    };
    const ratio = (one, other) => {
        const [high, low] = [light(one), light(other)].sort((a, b) => b - a);
        return (high + 0.05) / (low + 0.05);
    };
    const style = (selector) => getComputedStyle(document.querySelector(selector));
    const grounds = [style("body"), style(".card"), style(".search-input")].map((one) => one.backgroundColor);
    const marks = ["error", "warning", "advice", "unknown"].map((kind) => style(`.severity-${kind} .mark`).color);
    const drawn = [...marks, style(".search-input").borderTopColor, style(".button").borderTopColor];
    return Math.min(...drawn.flatMap((one) => grounds.map((ground) => ratio(one, ground))));
}
"""


@pytest.mark.browser
@pytest.mark.parametrize("theme", ["light", "dark", "sunlight"])
def test_marks_and_the_edges_of_inputs_stand_out_from_every_ground(page, sign_in, theme):
    """WCAG 2.2, 1.4.11 Non-text Contrast: 3 to 1; the ratio as WCAG 2.2 defines it."""
    sign_in(page, "administrator")
    page.goto("/parts/")
    choose_theme(page, theme)
    assert page.evaluate(CONTRAST) >= 3


@pytest.mark.browser
def test_a_theme_is_chosen_without_leaving_the_page_and_stays_chosen(page, sign_in):
    sign_in(page, "technician")
    page.goto("/password/")
    page.fill("#id_old_password", "half typed")
    page.locator("summary", has_text="technician").click()
    page.get_by_role("button", name="Dark").click()
    assert page.locator("html").get_attribute("data-theme") == "dark"
    assert page.locator("#id_old_password").input_value() == "half typed"
    page.reload()
    assert page.locator("html").get_attribute("data-theme") == "dark"
    assert page.evaluate("getComputedStyle(document.body).colorScheme") == "dark"


@pytest.mark.browser
def test_without_scripts_menus_open_and_a_theme_can_be_chosen(browser, live_server, sign_in):
    context = browser.new_context(base_url=live_server.url, java_script_enabled=False, viewport=PHONE)
    page = context.new_page()
    sign_in(page, "technician")
    page.goto("/password/")
    page.locator(".menu-person summary").click()
    page.get_by_role("button", name="Sunlight").click()
    assert page.url.endswith("/password/")
    assert page.locator("html").get_attribute("data-theme") == "sunlight"
    context.close()


@pytest.mark.browser
def test_the_keyboard_reaches_search_content_and_rows_and_single_keys_can_be_switched_off(page, sign_in):
    """WCAG 2.2, 2.4.1 Bypass Blocks and 2.1.4 Character Key Shortcuts."""
    sign_in(page, "administrator")
    page.goto("/parts/")
    focused = "document.activeElement.id || document.activeElement.textContent"
    page.keyboard.press("Tab")
    assert page.evaluate(focused) == "Skip to the content"
    page.keyboard.press("Enter")
    assert page.evaluate(focused) == "content"
    page.keyboard.press("j")
    page.keyboard.press("j")
    assert page.evaluate(focused) == "LIC-1101"
    page.keyboard.press("k")
    assert page.evaluate(focused) == "AT-4002"
    page.keyboard.press("/")
    assert page.evaluate(focused) == "search"
    page.keyboard.press("/")
    assert page.locator("#search").input_value() == "/"
    page.locator("summary", has_text="administrator").click()
    page.get_by_role("button", name="Off", exact=True).click()
    page.keyboard.press("Escape")
    assert page.get_by_role("button", name="Off", exact=True).is_hidden()
    page.keyboard.press("/")
    assert page.evaluate(focused) != "search"


@pytest.mark.browser
def test_a_form_sent_twice_by_an_impatient_finger_is_sent_once(page, sign_in):
    sign_in(page, "technician")
    page.goto("/password/")
    posts = []
    page.on("request", lambda request: request.method == "POST" and posts.append(request.url))
    with page.expect_navigation():
        page.evaluate("""() => {
            const form = document.querySelector("main form");
            form.noValidate = true;
            form.requestSubmit();
            form.requestSubmit();
        }""")
    assert len(posts) == 1
    assert page.evaluate("document.activeElement.className").endswith("form-errors")


@pytest.mark.browser
def test_a_part_of_a_page_that_does_not_come_is_said(page, sign_in, page_faults):
    sign_in(page, "technician")
    page.goto("/")
    page.evaluate("htmx.ajax('GET', '/no-such-part/', {target: '.page-content', swap: 'innerHTML'})")
    page.get_by_role("alert").get_by_text("The register did not answer.").wait_for()
    assert all("404" in fault for fault in page_faults)
    page_faults.clear()


@pytest.mark.browser
def test_a_negative_number_can_be_typed_on_a_phone_without_a_minus_key(phone_page, sign_in):
    sign_in(phone_page, "administrator")
    phone_page.goto("/parts/")
    phone_page.fill("#id_low", "12.50")
    phone_page.get_by_role("button", name="Change the sign of Low").click()
    assert phone_page.locator("#id_low").input_value() == "-12.50"
    assert phone_page.locator("#id_low").get_attribute("inputmode") == "decimal"
