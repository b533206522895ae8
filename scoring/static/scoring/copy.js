// A button that copies a text; without it the text can be selected by hand.
for (const button of document.querySelectorAll("[data-copies]")) {
  const field = document.getElementById(button.dataset.copies);
  const said = document.getElementById(button.dataset.says);
  field.addEventListener("focus", () => field.select());
  if (!navigator.clipboard) continue;
  button.hidden = false;
  button.addEventListener("click", async () => {
    try {
      await navigator.clipboard.writeText(field.value);
      said.textContent = "Copied.";
    } catch {
      field.focus();
      said.textContent = "Not copied: the browser said no. The text is selected; copy it by hand.";
    }
  });
}
