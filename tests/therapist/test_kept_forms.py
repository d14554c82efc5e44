"""What was typed is kept: refused, cut off by a sign-in that ran out, or sent from a page of another sign-in."""

from __future__ import annotations

from tests.therapist.house import PASSWORD, TOKEN, House

CLINIC = {"name": "Saltmarsh “Lane” <Rehab>", "lines": "3 Saltmarsh Lane\nTidewell", "call_who": "The front desk",
          "call_phone": "0100 200", "call_when": "8 to 4", "call_skin": "The desk", "emergency": "Call 999",
          "time_zone": "Europe/London", "cautions": "Not near the kiln."}


def test_refused_form_shows_every_value_and_reason(house: House) -> None:
    """A refused form comes back with all values, an error beside its field, and a summary that leads there."""
    page = house.browser("ines").send("/clinic/practice", **{**CLINIC, "call_phone": "", "time_zone": "Mars/Base"})
    assert page.status_code == 422
    assert "Not saved yet: 2 things to mend" in page.text
    assert '<a href="#call_phone"><b>Phone:</b> Please fill this in.</a>' in page.text
    assert 'id="call_phone-error"' in page.text
    assert "Saltmarsh “Lane” &lt;Rehab&gt;" in page.text
    assert "3 Saltmarsh Lane\nTidewell" in page.text


def test_form_of_an_ended_sign_in_comes_back(house: House) -> None:
    """A form sent after the sign-in had run out stands there again, whole, after signing in."""
    browser = house.browser("ines")
    token = browser.token()
    house.clock.pass_minutes(45)
    sent = browser.client.post("/clinic/practice", data={**CLINIC, "csrf_token": token})
    assert sent.location == "/clinic/sign-in?next=/clinic/practice"
    assert browser.sign_in("ines").location == "/clinic/practice"
    page = browser.get("/clinic/practice").text
    assert "This is what you had typed before. It is not saved yet." in page
    assert "Saltmarsh “Lane” &lt;Rehab&gt;" in page
    assert '<option value="Europe/London" selected>' in page
    assert browser.send("/clinic/practice", **CLINIC).status_code == 303
    assert "what you had typed before" not in browser.get("/clinic/practice").text


def test_form_comes_back_after_a_look_at_the_sign_in_page(house: House) -> None:
    """It does so too when another tab had shown the sign-in page in between, and after a sign-out there."""
    browser = house.browser("ines")
    house.clock.pass_minutes(45)
    browser.get("/clinic/sign-in")
    browser.client.post("/clinic/practice", data=CLINIC)
    browser.sign_in("ines")
    assert "Tidewell" in browser.get("/clinic/practice").text
    browser.send("/clinic/sign-out")
    browser.client.post("/clinic/people", data={"name": "Tess Marram", "login": "tess", "role": "therapist"})
    browser.sign_in("ines")
    assert "Tess Marram" in browser.get("/clinic/people").text


def test_kept_form_is_its_owners_alone(house: House) -> None:
    """Somebody else who signs in at the same browser does not see it."""
    browser = house.browser("ines")
    house.clock.pass_minutes(45)
    browser.client.post("/clinic/stimulators/new", data={"name": "Grey box of Maren"})
    browser.sign_in("otto")
    assert "Grey box" not in browser.get("/clinic/stimulators/new").text
    assert "Grey box" in house.browser("ines").get("/clinic/stimulators/new").text


def test_kept_form_goes_after_a_day(house: House) -> None:
    """After 24 hours it is gone."""
    browser = house.browser("ines")
    house.clock.pass_minutes(45)
    browser.client.post("/clinic/practice", data=CLINIC)
    house.clock.pass_minutes(24 * 60 + 1)
    assert "Tidewell" not in house.browser("ines").get("/clinic/practice").text


def test_passwords_are_never_kept(house: House) -> None:
    """A password form that came too late leaves no password anywhere."""
    browser = house.browser("ines")
    house.clock.pass_minutes(45)
    browser.client.post("/clinic/password", data={"old_password": PASSWORD, "new_password": "seven herons over water",
                                                  "new_password_again": "seven herons over water"})
    assert "herons" not in "\n".join(house.db.conn.iterdump())


def test_strangers_leave_no_forms(house: House) -> None:
    """A browser that was never signed in can store nothing."""
    house.browser().client.post("/clinic/practice", data=CLINIC)
    assert house.db["saved_forms"].count == 0


def test_form_of_an_older_sign_in_is_kept(house: House) -> None:
    """A page left open through another sign-in is refused once, and then stands there with all that was typed."""
    browser = house.browser("ines")
    old = browser.token()
    browser.send("/clinic/sign-out")
    browser.sign_in("ines")
    refused = browser.client.post("/clinic/practice", data={**CLINIC, "csrf_token": old})
    assert refused.status_code == 400
    assert 'href="/clinic/practice"' in refused.text
    shown = browser.get("/clinic/practice").text
    assert "Tidewell" in shown
    fresh = TOKEN.search(shown)
    assert fresh
    assert browser.client.post("/clinic/practice", data={**CLINIC, "csrf_token": fresh[1]}).status_code == 303


def test_state_tells_scripts_what_to_do(house: House) -> None:
    """Before a form is sent, a page can ask: signed in and with which token, or kept on the server, or neither."""
    browser = house.browser("ines")
    state = browser.get("/clinic/sign-in/state").get_json()
    assert state["signed_in"]
    assert browser.client.post("/clinic/practice", data={**CLINIC, "csrf_token": state["token"]}).status_code == 303
    house.clock.pass_minutes(45)
    assert browser.get("/clinic/sign-in/state").get_json() == {"signed_in": False, "kept_on_server": True, "token": ""}
    stranger = house.browser().get("/clinic/sign-in/state").get_json()
    assert stranger == {"signed_in": False, "kept_on_server": False, "token": ""}
