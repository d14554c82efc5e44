/** The review's long tables: fetched when they are opened; without a script or a network the link inside leads to them. */
import { every } from "../parts/elements.js";

/** @param {Element} panel */
async function open(panel) {
  const link = panel.querySelector("a[data-part]");
  if (!(link instanceof HTMLAnchorElement) || !panel.hasAttribute("open")) return;
  const answer = await fetch(link.dataset["part"] ?? "").catch(() => null);
  if (!answer?.ok || !link.isConnected) return;
  const place = document.createElement("div");
  place.innerHTML = await answer.text();
  link.replaceWith(place);
}

for (const panel of every(document, "details[data-later]")) panel.addEventListener("toggle", () => void open(panel));
