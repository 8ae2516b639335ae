// The office's page about the firm, as a browser that is signed in sends it.
import assert from "node:assert/strict";

/** Keeps whose words the firm reads, and in which unit: Australia's and mm unless said. */
export async function kept(site, { words = "AU", units = "mm" }) {
  const entered = await fetch(`${site.url}/enter`, { method: "POST", redirect: "manual", body: new URLSearchParams({ token: site.token }) });
  const cookie = entered.headers.getSetCookie().map((c) => c.split(";")[0]).join("; ");
  const answer = await fetch(`${site.url}/firm`, { method: "POST", redirect: "manual", headers: { cookie }, body: new URLSearchParams({ name: "Level & Daughters", words, units, zone: "" }) });
  assert.equal(answer.status, 303, await answer.text());
}
