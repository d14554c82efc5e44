/** Lets the rows of a unit's menu move without a new page: the server does the moving, only that part is exchanged. */

/** @param {HTMLFormElement} form @param {HTMLButtonElement} button */
async function exchange(form, button) {
  const answer = await fetch(form.action, { method: 'POST', body: new FormData(form, button) });
  if (!answer.ok) throw new Error(String(answer.status));
  const page = new DOMParser().parseFromString(await answer.text(), 'text/html');
  const fresh = page.getElementById('menu');
  const old = document.getElementById('menu');
  if (!fresh || !old) throw new Error('no menu in the answer');
  old.replaceWith(document.adoptNode(fresh));
  focusAfter(fresh, button.value);
}

/** Stays with the row that was moved or added, so that a keyboard can go on. @param {HTMLElement} menu @param {string} act */
function focusAfter(menu, act) {
  const row = menu.querySelector('.looked-at');
  const verb = act.split('-')[0];
  const same = row?.querySelector(`button[value^="${verb}-"]:not(:disabled)`);
  const next = same ?? row?.querySelector('input:not([type="hidden"]), button:not(:disabled)') ?? menu;
  if (next instanceof HTMLElement) next.focus();
}

/** @param {SubmitEvent} event */
function onSubmit(event) {
  const { target: form, submitter } = event;
  if (!(form instanceof HTMLFormElement) || !(submitter instanceof HTMLButtonElement) || submitter.name !== 'act') return;
  event.preventDefault();
  exchange(form, submitter).catch(() => {
    // the plain way: the whole page goes to the server and comes back
    form.removeEventListener('submit', onSubmit);
    form.requestSubmit(submitter);
  });
}

for (const form of document.querySelectorAll('form[data-menu-form]')) {
  if (form instanceof HTMLFormElement) form.addEventListener('submit', onSubmit);
}
