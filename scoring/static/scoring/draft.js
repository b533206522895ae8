// A result on a flaky network: what is typed stays on this phone until the server has
// confirmed it, is sent again by itself under the same key, and the page says which it is.
// Without this script the form is sent as any other.

const form = document.querySelector("form[data-draft]");
const said = document.getElementById("draft-state");
const name = form.dataset.draft;
const WAITS = [2, 5, 10, 20, 30, 60]; // seconds between tries
const TOKENS = ["csrfmiddlewaretoken"];

let tries = 0;
let timer = null;
let isSending = false;

function tell(text, isWarning) {
  said.textContent = text;
  said.classList.toggle("fault", Boolean(isWarning));
}

function kept() {
  try {
    return JSON.parse(localStorage.getItem(name));
  } catch {
    return null; // a phone that keeps nothing, or something else under the name
  }
}

function keep(isWaiting) {
  const fields = [...new FormData(form)].filter(([field]) => !TOKENS.includes(field));
  try {
    localStorage.setItem(name, JSON.stringify({ fields, isWaiting, page: location.pathname }));
    return true;
  } catch {
    return false;
  }
}

function forget() {
  try {
    localStorage.removeItem(name);
  } catch {
    /* nothing was kept */
  }
}

function fill(fields) {
  const values = new Map(fields);
  for (const input of form.elements) {
    if (!input.name || TOKENS.includes(input.name)) continue;
    if (input.type === "radio" || input.type === "checkbox") {
      input.checked = values.get(input.name) === input.value;
    } else if (values.has(input.name)) {
      input.value = values.get(input.name);
    }
  }
  for (const details of form.querySelectorAll("details")) {
    const filled = [...details.querySelectorAll("input, select, textarea")].some((input) =>
      input.type === "checkbox" || input.type === "radio" ? input.checked && input.value !== "" : input.value,
    );
    if (filled) details.open = true;
  }
}

async function send() {
  if (isSending) return;
  clearTimeout(timer);
  isSending = true;
  tell("Sending …");
  try {
    const answer = await fetch(form.action, { method: "POST", body: new FormData(form) });
    if (answer.redirected) {
      // Taken, or first to sign in: what was typed is still here for the way back.
      if (!new URL(answer.url).pathname.startsWith("/accounts/")) forget();
      location.assign(answer.url);
      return;
    }
    if (answer.status === 429) {
      later("Too many at once.");
      return;
    }
    if (answer.status < 500) {
      // Refused: the page that says why comes by sending it the plain way.
      keep(false);
      form.submit();
      return;
    }
    later("The site did not answer properly.");
  } catch {
    later("No connection.");
  } finally {
    isSending = false;
  }
}

function later(why) {
  const wait = WAITS[Math.min(tries, WAITS.length - 1)];
  tries += 1;
  timer = setTimeout(send, wait * 1000);
  tell(`${why} Not sent yet: it is kept on this phone and sent again by itself. Leave this page open.`, true);
}

form.addEventListener("submit", (event) => {
  if (event.submitter?.name) return; // another button than the one that sends
  if (!keep(true)) return; // nothing can be kept here: send it the plain way
  event.preventDefault();
  tries = 0;
  send();
});
form.addEventListener("input", () => {
  clearTimeout(timer);
  if (keep(false)) tell("Kept on this phone, not sent yet.");
});
form.addEventListener("change", () => keep(false));
window.addEventListener("online", () => {
  if (kept()?.isWaiting) send();
});

const before = kept();
if (before && form.dataset.refused === "no") {
  fill(before.fields);
  form.dispatchEvent(new Event("change", { bubbles: true }));
  keep(before.isWaiting);
  if (before.isWaiting) send();
  else tell("What you typed before was kept on this phone. It is not sent yet.");
}
