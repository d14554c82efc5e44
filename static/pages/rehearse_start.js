// Steps lent to this phone: one tap opens them, once.

const token = location.hash.slice(1).toLowerCase();
// The token leaves the address bar at once: nobody reads it over a shoulder, no history keeps it.
history.replaceState(null, "", location.pathname);

/** @param {string} id */
const part = (id) => /** @type {HTMLElement} */ (document.getElementById(id));

function showEnded() {
  part("welcome").hidden = true;
  part("ended").hidden = false;
  part("ended").querySelector("h1")?.focus();
}

async function start() {
  try {
    const answer = await fetch("/rehearse/start", { method: "POST", body: JSON.stringify({ token, language: part("welcome").dataset["language"] ?? "" }), headers: { "Content-Type": "application/json" } });
    if (answer.ok) location.replace((await answer.json()).page);
    else showEnded();
  } catch {
    part("says").textContent = part("says").dataset["network"] ?? "";
  }
}

if (/^[a-z2-7]{32}$/.test(token)) part("start").addEventListener("click", () => void start());
else showEnded();
