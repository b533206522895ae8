// Shows what concerns passkeys where they can work, and says in words what went wrong.

// They need a browser that knows them and an address it trusts (https, or this machine).
const able = window.isSecureContext && "PublicKeyCredential" in window;
const fault = document.getElementById("passkey-fault");

function say(text) {
  if (!fault) return;
  fault.textContent = text;
  fault.hidden = false;
}

if (able) {
  for (const part of document.querySelectorAll("[data-passkeys]")) part.hidden = false;
} else {
  say("This browser can make no passkeys here. Signing in by a code always works.");
}

document.addEventListener("allauth.error", (event) => {
  // Told on the page, so the console stays quiet.
  event.preventDefault();
  const name = event.detail.exception?.name;
  if (name === "InvalidStateError") say("This device has a passkey for your account already.");
  else if (name === "NotAllowedError") say("That was cancelled or took too long. Nothing has changed; try again, or sign in by a code.");
  else say("That did not work. Nothing has changed; try again, or sign in by a code.");
});
