"""A therapist's desk: a real browser at the clinic's pages of the real server."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any, Literal

from playwright.sync_api import Page, Playwright, ViewportSize, expect

from tests.browser.clinic_server import ClinicServer
from tests.browser.phone import LONG_MS
from tests.browser.shared_browser import shared_browser
from webapp import passwords
from webapp.settings import Settings
from webapp.storage import users
from webapp.storage.database import Store

PASSWORD = "green kettle under nine stairs"
LAPTOP = ViewportSize(width=1280, height=800)
SCHEMES: tuple[Literal["light", "dark"], ...] = ("light", "dark")
AXE = Path(__file__).resolve().parents[1] / "vendor" / "axe.min.js"
RULES_ASKED = """async (rules) => (await axe.run(document, { runOnly: rules })).violations.map((v) =>
  ({ id: v.id, nodes: v.nodes.map((n) => n.html.slice(0, 120)) }))"""
WCAG = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]


# a rule that sets a transition would otherwise be read half-way from one colour to the other
STANDS_STILL = """async () => { await new Promise((next) => requestAnimationFrame(() => requestAnimationFrame(next)));
  await Promise.allSettled(document.getAnimations().map((one) => one.finished)); }"""


def looks(page: Page, size: ViewportSize, scheme: Literal["light", "dark"]) -> None:
    """Shows a loaded page on another screen, in other colours, and waits until the colours stand still."""
    page.set_viewport_size(size)
    page.emulate_media(color_scheme=scheme)
    page.evaluate(STANDS_STILL)


def add_lead(data_dir: Path) -> None:
    """Adds a lead who can sign in to a clinic."""
    settings = Settings(data_dir=data_dir)
    store = Store(settings.database_path)
    db = store.connect()
    with store.write(db):
        users.add(db, login="ines", name="Ines Wallaroo", role="lead", created_ms=1,
                  password_hash=passwords.hash_password(settings, PASSWORD))
    db.close()
    store.close()


class Desk:
    """One browser of a therapist; its methods say what she does or sees."""

    def __init__(self, tool: Playwright, server: ClinicServer, flags: Sequence[str] = (), **options: Any) -> None:
        self.context = shared_browser(tool, tuple(flags)).new_context(**{"viewport": LAPTOP, **options})
        self.context.set_default_timeout(LONG_MS)
        self.page: Page = self.context.new_page()
        self.server = server
        self.complaints: list[str] = []
        self.page.on("console", lambda said: self.complaints.append(said.text) if "Refused" in said.text else None)

    def closes(self) -> None:
        self.context.close()

    def opens(self, path: str) -> None:
        self.page.goto(f"{self.server.public_url}/clinic/{path}")

    def signs_in(self, page: Page | None = None) -> None:
        at = page or self.page
        if page is None:
            self.opens("sign-in?next=/clinic/practice")
        at.get_by_label("Your sign-in name").fill("ines")
        at.get_by_label("Password", exact=True).fill(PASSWORD)
        at.get_by_role("button", name="Sign in").click()
        at.wait_for_url(lambda url: "sign-in" not in url)

    def presses(self, name: str) -> None:
        self.page.get_by_role("button", name=name, exact=True).click()

    def sees(self, words: str) -> None:
        expect(self.page.get_by_text(words).filter(visible=True).first).to_be_visible()

    def axe(self, rules: list[str] | None = None) -> list[dict[str, Any]]:
        """Asks axe for what breaks WCAG 2.2 A or AA, or the rules given."""
        if not self.page.evaluate("'axe' in window"):
            self.page.evaluate(AXE.read_text(encoding="utf-8"))
        found: list[dict[str, Any]] = self.page.evaluate(RULES_ASKED, rules or WCAG)
        return found

    def is_wider_than_the_screen(self) -> bool:
        return bool(self.page.evaluate("document.documentElement.scrollWidth > innerWidth"))

    def makes_text_twice_as_large(self) -> None:
        self.page.evaluate("document.documentElement.style.fontSize = '200%'")

    def makes_text_as_it_was(self) -> None:
        self.page.evaluate("document.documentElement.style.fontSize = ''")

    def looks(self, size: ViewportSize, scheme: Literal["light", "dark"] = "light") -> None:
        """Looks at the page on another screen, in other colours."""
        looks(self.page, size, scheme)
