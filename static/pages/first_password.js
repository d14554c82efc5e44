/** Takes the code of a first-password link out of the address, where it would stay in the browser's history. */

const field = document.getElementById('token');
if (field instanceof HTMLInputElement && location.hash.length > 1) {
  field.value = location.hash.slice(1);
  history.replaceState(null, '', location.pathname);
  document.getElementById('new_password')?.focus();
}
