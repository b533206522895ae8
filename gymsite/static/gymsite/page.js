// Small comforts; every page works without them.

// Steppers beside a number.
document.addEventListener("click", (event) => {
  const button = event.target.closest("[data-step]");
  if (!button) return;
  const input = document.getElementById(button.dataset.for);
  const least = Number(input.min || 0);
  const most = input.max === "" ? Infinity : Number(input.max);
  const wanted = (Number(input.value) || 0) + Number(button.dataset.step);
  input.value = Math.min(most, Math.max(least, wanted));
  input.dispatchEvent(new Event("change", { bubbles: true }));
});
for (const button of document.querySelectorAll("[data-step]")) button.hidden = false;

// Giving one kind of mark takes the other back, so that they never disagree.
document.addEventListener("input", (event) => {
  const picks = event.target.dataset?.picks;
  if (picks && event.target.value) document.getElementById(picks).checked = true;
});
document.addEventListener("change", (event) => {
  if (event.target.name !== "place") return;
  const reps = document.getElementById("id-reps");
  if (reps && event.target.dataset.most) reps.max = event.target.dataset.most;
  const time = document.getElementById("id-time");
  if (time && event.target.value !== "finish") time.value = "";
});

// A board row that is open closes on the second press. Only a script opens rows in place,
// so only a script says that they can be opened.
document.addEventListener("htmx:load", (event) => {
  for (const link of event.target.querySelectorAll("[data-opens]")) {
    link.setAttribute("aria-expanded", "false");
    link.setAttribute("aria-controls", link.dataset.opens);
  }
});
document.addEventListener("htmx:beforeRequest", (event) => {
  const link = event.target.closest("[data-opens]");
  if (!link) return;
  const place = document.getElementById(link.dataset.opens);
  if (!place || !place.childElementCount) return;
  event.preventDefault();
  place.replaceChildren();
  link.setAttribute("aria-expanded", "false");
});
document.addEventListener("htmx:afterSwap", (event) => {
  const link = document.querySelector(`[data-opens="${event.target.id}"]`);
  if (link) link.setAttribute("aria-expanded", "true");
});

// A refreshed board is put in place only if it changed and nobody is reading a row of it.
document.addEventListener("htmx:beforeSwap", (event) => {
  const board = event.detail.target;
  if (board.id !== "board-rows" || event.detail.requestConfig.elt !== board) return;
  const tag = event.detail.xhr.getResponseHeader("ETag");
  const same = tag !== null && tag === board.dataset.tag;
  const inUse = board.contains(document.activeElement) || board.querySelector(".opened:not(:empty)");
  if (same || inUse) event.detail.shouldSwap = false;
  else board.dataset.tag = tag ?? "";
});

// A result that could not be sent yet is remembered on every page until it is.
const drafts = document.body.dataset.drafts;
if (drafts) {
  try {
    for (const [name, text] of Object.entries(localStorage)) {
      const draft = name.startsWith(drafts) ? JSON.parse(text) : null;
      if (!draft?.isWaiting || draft.page === location.pathname) continue;
      const notice = document.createElement("p");
      notice.className = "notice warn";
      notice.append("A result waits on this phone to be sent. ");
      const link = document.createElement("a");
      link.href = draft.page;
      link.textContent = "Send it";
      notice.append(link);
      document.getElementById("main").prepend(notice);
    }
  } catch {
    // a phone that keeps nothing has nothing to tell
  }
}
