// An owner's link: what stands behind the # is posted for a visit, so that it reaches no
// log, and is taken out of the address wherever it still stands.
"use strict";

function openShare() {
  const secret = location.hash.slice(1);
  if (!location.pathname.startsWith("/s/") || !/^[2-9A-HJ-NP-Z]{52}$/i.test(secret)) return;
  history.replaceState(null, "", location.pathname + location.search);
  const form = document.getElementById("open-share");
  if (!form) return;
  form.elements.code.value = secret;
  form.requestSubmit();
}

// A page that a browser loads beforehand was not opened by anybody yet.
if (document.prerendering) document.addEventListener("prerenderingchange", openShare, { once: true });
else openShare();
addEventListener("hashchange", openShare); // the link is put in where the page stands already
