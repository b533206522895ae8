// The page of a class while results come in; without this it is renewed by reloading it.
const line = document.getElementById("line");
const whose = document.getElementById("line-member");
let put = "";

// A name of the missing goes into the line, in the place of the one put there before.
document.addEventListener("click", (event) => {
  const pick = event.target.closest("[data-name]");
  if (!pick || !line) return;
  event.preventDefault();
  const rest = put && line.value.startsWith(put) ? line.value.slice(put.length) : line.value;
  put = `${pick.dataset.name} `;
  line.value = put + rest;
  whose.value = pick.value;
  line.focus();
  line.scrollIntoView({ block: "center" });
});

// Names to paste into a message.
const showCopies = () => {
  if (!navigator.clipboard) return;
  for (const button of document.querySelectorAll("[data-copies]")) button.hidden = false;
};
document.addEventListener("click", async (event) => {
  const button = event.target.closest("[data-copies]");
  if (!button) return;
  const field = document.getElementById(button.dataset.copies);
  const said = document.getElementById("live-said");
  try {
    await navigator.clipboard.writeText(field.value);
    button.textContent = "Copied";
    said.textContent = "The names are copied.";
  } catch {
    field.select();
    said.textContent = "Not copied: the browser said no. The names are selected; copy them by hand.";
  }
});
showCopies();

// What came in is put in place only if something changed, and never under somebody who types
// there. What was opened stays open; the focus stays where it was, since what can have it has
// an id.
const part = document.getElementById("live-part");
let open = [];
const isTypedIn = () =>
  part.contains(document.activeElement) && document.activeElement.matches("input, textarea") ||
  [...part.querySelectorAll("input[type=text]")].some((field) => field.value !== field.defaultValue);
document.addEventListener("htmx:beforeSwap", (event) => {
  if (event.detail.target !== part || event.detail.requestConfig.elt !== part) return;
  const tag = event.detail.xhr.getResponseHeader("ETag");
  if ((tag !== null && tag === part.dataset.tag) || isTypedIn()) {
    event.detail.shouldSwap = false;
    return;
  }
  part.dataset.tag = tag ?? "";
  open = [...part.querySelectorAll("details[open]")].map((each) => each.id);
});
document.addEventListener("htmx:afterSwap", (event) => {
  if (event.detail.target !== part) return;
  for (const id of open) document.getElementById(id)?.setAttribute("open", "");
  showCopies();
});
