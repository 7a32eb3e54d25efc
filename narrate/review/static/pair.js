// The code stands behind the # of the address, which no server or log sees. Take it out of the address bar and
// send it with the page's own form, which also works by hand.
const form = document.getElementById("pair");
const code = location.hash.slice(1);
if (code) {
  history.replaceState(null, "", location.pathname);
  form.elements.code.value = code;
  form.requestSubmit();
}
