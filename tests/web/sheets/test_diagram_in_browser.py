import pytest
from playwright.sync_api import expect

from register.plant import sketch
from tests import factories

pytestmark = pytest.mark.browser


def test_a_click_on_a_reference_s_text_leads_to_the_other_loop(page, sign_in, person):
    factories.loop(sketch.cascade(), by=person("planner"))
    sign_in(page, "technician")
    page.goto("/loops/T-102/")
    page.locator(".diagram").get_by_role("link", name="Loop T-110").click()
    expect(page).to_have_url("/loops/T-110/")
