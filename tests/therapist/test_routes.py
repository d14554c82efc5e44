"""Every route at once: who is let in, which forms are taken, what each answer carries."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from werkzeug.routing import Rule

from tests.therapist.house import House
from webapp.clinic_guard import OPEN_TO_ALL, SAFE_METHODS
from webapp.security_headers import security_headers

ROLES = ("therapist", "lead", "administrator")
LOGIN_OF = {"therapist": "otto", "lead": "ines", "administrator": "rui"}
CLINICAL = ("/clinic/clients", "/clinic/stimulators")


def clinic_rules(house: House) -> Iterator[Rule]:
    return (rule for rule in house.app.url_map.iter_rules() if rule.rule.startswith("/clinic"))


def address(house: House, rule: Rule) -> str:
    """Gives an address of a rule, for things that do not exist."""
    values = {name: 99_999 if "Integer" in type(converter).__name__ else "x"
              for name, converter in rule._converters.items()}
    built = rule.build(values)
    assert built
    return built[1]


def test_every_clinic_view_names_its_roles(house: House) -> None:
    """No view of the clinic is open by accident: it names its roles, or stands in the short list of open ones."""
    rules = list(clinic_rules(house))
    assert len(rules) > 20
    for rule in rules:
        roles = getattr(house.app.view_functions[rule.endpoint], "required_roles", ())
        assert (rule.endpoint in OPEN_TO_ALL) != (set(roles) <= set(ROLES) and bool(roles)), rule


def test_a_view_without_roles_lets_nobody_in(house: House) -> None:
    """A view that somebody forgot to guard is closed, not open."""
    house.app.add_url_rule("/clinic/forgotten", "therapist.forgotten", lambda: "secrets")
    assert house.browser("ines").get("/clinic/forgotten").status_code == 403


def test_strangers_get_nothing(house: House) -> None:
    """Without a sign-in every view leads to the sign-in page, and a script gets 401."""
    for rule in clinic_rules(house):
        if rule.endpoint in OPEN_TO_ALL:
            continue
        for method in (rule.methods or set()) - {"HEAD", "OPTIONS"}:
            answer = house.browser().client.open(address(house, rule), method=method)
            assert (answer.status_code, answer.location[:15]) == (303, "/clinic/sign-in"), rule
            asked = house.browser().client.open(address(house, rule), method=method,
                                                headers={"Sec-Fetch-Dest": "empty"})
            assert asked.status_code == 401, rule


def test_roles_see_what_is_theirs(house: House) -> None:
    """Each role gets 403 where it is not named; where it is, the page or what is wrong with the address."""
    for role in ROLES:
        browser = house.browser(LOGIN_OF[role])
        for rule in clinic_rules(house):
            roles = getattr(house.app.view_functions[rule.endpoint], "required_roles", ROLES)
            if "GET" in (rule.methods or set()):
                refused = browser.get(address(house, rule)).status_code == 403
                assert refused == (role not in roles), (role, rule)


def test_administrators_see_no_client(house: House) -> None:
    """No clinical page is open to the administrator's role."""
    clinical = [rule for rule in clinic_rules(house) if rule.rule.startswith(CLINICAL) or rule.rule == "/clinic/"]
    assert len(clinical) > 8
    for rule in clinical:
        roles = getattr(house.app.view_functions[rule.endpoint], "required_roles", ROLES)
        assert "administrator" not in roles, rule


def test_every_form_needs_its_token(house: House) -> None:
    """No unsafe route of the clinic takes a form without a token, with another browser's, or from another site."""
    signed_in, other = {role: house.browser(LOGIN_OF[role]) for role in ROLES}, house.browser("ines").token()
    for rule in clinic_rules(house):
        roles = getattr(house.app.view_functions[rule.endpoint], "required_roles", ("lead",))
        browser, path = signed_in[roles[0]], address(house, rule)
        for method in (rule.methods or set()) - SAFE_METHODS:
            for fields in ({}, {"csrf_token": other}, {"csrf_token": "x"}):
                assert browser.client.open(path, method=method, data=fields).status_code == 400, rule
            foreign = browser.client.open(path, method=method, data={"csrf_token": browser.token()},
                                          headers={"Sec-Fetch-Site": "cross-site"})
            assert foreign.status_code == 403, rule


def test_unlisted_methods_are_refused(house: House) -> None:
    """A method that a route does not list gets 405 and the list, whoever asks."""
    answer = house.browser("ines").client.delete("/clinic/practice", data={})
    assert answer.status_code == 405
    assert "GET" in answer.headers["Allow"]


@pytest.mark.parametrize("public_url", ["http://127.0.0.1:8000", "https://clinic.example"])
def test_every_answer_is_hardened(tmp_path: Path, public_url: str) -> None:
    """Every answer, errors too, carries the strict headers; over https the promise to stay there as well."""
    house = House(tmp_path, public_url=public_url)
    browser = house.browser()
    paths = {"/clinic/sign-in": 200, "/clinic/": 303, "/clinic/nothing": 404, "/nothing": 404, "/join": 200,
             "/static/styles/tokens.css": 200, "/static/nothing.css": 404, "/my/nobody/today": None, "/": 303}
    for path, status in paths.items():
        answer = browser.get(path)
        assert status is None or answer.status_code == status, path
        for name, value in security_headers(house.settings.https).items():
            assert answer.headers[name] == value, (path, name)
        assert not path.startswith("/clinic") or answer.headers["Cache-Control"] == "no-store"
        answer.close()
    assert ("Strict-Transport-Security" in security_headers(house.settings.https)) == house.settings.https
    house.close()


def test_strict_policy_allows_no_inline_code() -> None:
    """The policy names neither inline nor evaluated code, nor any other host."""
    policy = security_headers(True)["Content-Security-Policy"]
    assert "unsafe" not in policy
    assert "//" not in policy
    assert policy.startswith("default-src 'none'")


def test_other_hosts_are_refused(house: House) -> None:
    """A request for another host name is refused: no link is ever built from it."""
    answer = house.browser().client.get("/clinic/sign-in", headers={"Host": "evil.example"})
    assert answer.status_code == 400
    assert "evil.example" not in answer.text


def test_too_large_form_is_refused_politely(house: House) -> None:
    """A form above the limit gets a page that says so."""
    answer = house.browser("ines").client.post("/clinic/practice", data={"name": "x" * 1_100_000})
    assert answer.status_code == 413
    assert "too much at once" in answer.text


def test_failure_shows_a_page_and_no_detail(house: House) -> None:
    """A fault on the server shows a page for people that tells nothing of the inside."""

    def break_down() -> str:
        raise RuntimeError("the client's name is Maren")

    house.app.add_url_rule("/breaks", "breaks", break_down)
    house.app.testing = False
    answer = house.browser().get("/breaks")
    assert answer.status_code == 500
    assert "Something went wrong" in answer.text
    assert "Maren" not in answer.text


def test_scripts_get_json(house: House) -> None:
    """What phones ask by script is refused as JSON with a code."""
    answer = house.browser().client.post("/exchange/nothing", json={})
    assert (answer.status_code, answer.get_json()) == (404, {"error": "not_found"})


def test_static_files_are_compressed_and_kept(house: House) -> None:
    """A file of this release may be kept for ever; under its plain address it is asked for again, by its mark."""
    browser = house.browser().client
    with house.app.app_context():
        versioned = house.app.jinja_env.globals["static_url"]("styles/clinic.css")  # type: ignore[operator]
    kept = browser.get(versioned, headers={"Accept-Encoding": "gzip"})
    assert "immutable" in kept.headers["Cache-Control"]
    assert kept.headers["Content-Encoding"] == "gzip"
    plain = browser.get("/static/styles/clinic.css", headers={"Accept-Encoding": "gzip"})
    assert plain.headers["Cache-Control"] == "no-cache"
    again = browser.get("/static/styles/clinic.css", headers={"Accept-Encoding": "gzip",
                                                              "If-None-Match": plain.headers["ETag"]})
    assert again.status_code == 304
    for outside in ("/static/../webapp/app.py", "/static/%2e%2e/webapp/app.py", "/static/..%2fwebapp/app.py"):
        assert browser.get(outside).status_code == 404
