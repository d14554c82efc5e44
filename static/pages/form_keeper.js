/**
 * Keeps what a therapist typed: before a form leaves the page, it asks whether the server is there and who is signed in.
 * Without this script the server does the same with what reaches it.
 */

/** @typedef {{signed_in: boolean, kept_on_server: boolean, token: string}} State */

const WAIT_MS = 8000;
/** @type {WeakSet<HTMLFormElement>} */
const checked = new WeakSet();
let dirty = false;

/** @returns {Promise<State | null>} null when the server cannot be reached */
async function askState() {
  try {
    const answer = await fetch('/clinic/sign-in/state', { cache: 'no-store', signal: AbortSignal.timeout(WAIT_MS) });
    return answer.ok ? await answer.json() : null;
  } catch {
    return null;
  }
}

/** @param {string} name @returns {string} */
function textOf(name) {
  return document.getElementById('keeper-texts')?.dataset[name] ?? '';
}

/** @param {HTMLFormElement} form @param {string} text @param {boolean} offersSignIn */
function say(form, text, offersSignIn) {
  form.querySelector('[data-keeper-message]')?.remove();
  const message = document.createElement('div');
  message.className = 'problems';
  message.dataset.keeperMessage = '';
  message.setAttribute('role', 'alert');
  const line = document.createElement('p');
  line.textContent = text;
  message.append(line);
  if (offersSignIn) {
    const link = document.createElement('a');
    link.href = '/clinic/sign-in';
    link.target = '_blank';
    link.textContent = textOf('signInAgain');
    message.append(link);
  }
  form.append(message);
  message.scrollIntoView({ block: 'nearest' });
}

/** @param {HTMLFormElement} form @param {HTMLElement | null} submitter */
async function check(form, submitter) {
  form.setAttribute('aria-busy', 'true');
  const state = await askState();
  form.removeAttribute('aria-busy');
  if (state === null) return say(form, textOf('offline'), false);
  if (!state.signed_in && !state.kept_on_server) return say(form, textOf('signedOut'), true);
  const token = form.querySelector('input[name="csrf_token"]');
  if (state.token && token instanceof HTMLInputElement) token.value = state.token;
  checked.add(form);
  dirty = false;
  form.requestSubmit(submitter);
}

/** @param {SubmitEvent} event */
function onSubmit(event) {
  const { target: form, submitter } = event;
  if (event.defaultPrevented || !(form instanceof HTMLFormElement) || form.method !== 'post') return;
  if (form.dataset.keeper === 'off' || submitter?.dataset.keeper === 'off') return;
  if (checked.delete(form)) return;
  event.preventDefault();
  if (!form.hasAttribute('aria-busy')) void check(form, submitter);
}

/** @param {Event} event */
function onInput(event) {
  const form = event.target instanceof HTMLElement ? event.target.closest('form') : null;
  if (form && form.method === 'post' && !form.dataset.keeper) dirty = true;
}

document.addEventListener('submit', onSubmit);
document.addEventListener('input', onInput);
window.addEventListener('beforeunload', (event) => {
  if (dirty) event.preventDefault();
});
const problems = document.querySelector('[data-problems]');
if (problems instanceof HTMLElement) problems.focus();
