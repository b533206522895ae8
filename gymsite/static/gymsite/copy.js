// A button that copies a field; without it the field can be selected by hand.
for (const button of document.querySelectorAll("[data-copy]")) {
  const field = document.getElementById(button.dataset.copy);
  const said = document.getElementById(button.dataset.says || "copied");
  field.addEventListener("focus", () => field.select());
  if (!navigator.clipboard) continue;
  button.hidden = false;
  button.addEventListener("click", async () => {
    try {
      await navigator.clipboard.writeText(field.value);
      said.textContent = "Copied.";
    } catch {
      field.focus();
      said.textContent = "Not copied: the browser said no. It is selected; copy it by hand.";
    }
  });
}
