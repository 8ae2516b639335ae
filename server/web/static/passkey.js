// Passkeys: the browser asks the server what to sign, its owner touches or looks at
// something, and what was signed goes back. Where there is no such thing, or the
// connection is not safe, nothing of it is shown.
"use strict";

const able = window.isSecureContext && window.PublicKeyCredential?.parseRequestOptionsFromJSON;

async function post(address, body) {
  const answer = await fetch(address, {
    method: "POST", headers: { "Content-Type": "application/json", Accept: "application/json" }, body: JSON.stringify(body ?? {}),
  });
  const said = answer.status === 204 ? {} : await answer.json();
  if (!answer.ok) throw new Error(said.detail || said.title);
  return said;
}

async function enter() {
  const { publicKey } = await post("/enter/passkey/options");
  const made = await navigator.credentials.get({ publicKey: PublicKeyCredential.parseRequestOptionsFromJSON(publicKey) });
  await post("/enter/passkey", { credential: made.toJSON() });
  location.assign("/");
}

async function add(name) {
  const { publicKey } = await post("/account/passkeys/options");
  const made = await navigator.credentials.create({ publicKey: PublicKeyCredential.parseCreationOptionsFromJSON(publicKey) });
  await post("/account/passkeys", { name, credential: made.toJSON() });
  location.reload();
}

// tried says beside the button why nothing came of it.
async function tried(work) {
  const wrong = document.getElementById("passkey-wrong");
  wrong.hidden = true;
  try {
    await work();
  } catch (e) {
    wrong.textContent = e.name === "NotAllowedError" ? "Nothing was chosen: try again." : e.message;
    wrong.hidden = false;
  }
}

if (able) {
  for (const shown of document.querySelectorAll("[data-passkey]")) {
    shown.hidden = false;
    if (shown.dataset.passkey === "enter") shown.addEventListener("click", () => tried(enter));
    else shown.addEventListener("submit", (e) => { e.preventDefault(); tried(() => add(shown.elements.passkey.value)); });
  }
}
