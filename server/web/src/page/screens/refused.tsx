// Where nothing can be recorded, and what to do about it.
import "../ui/frame.css";
import "../ui/act.css";

/** A page that came over plain http may have been changed by anybody on the way,
 *  and the browser gives it neither a safe store nor a service worker. */
export function PlainHttp() {
  const safe = `https://${location.host}${location.pathname}`;
  return (
    <div class="screen">
      <h2>Recording is off here</h2>
      <p>This page came over plain http. The browser then keeps nothing for a place without signal, and what is sent could be read and changed on the way.</p>
      <p><a class="act main" href={safe}>Open it over https</a></p>
      <p><a class="act" href="/trust">How this phone comes to trust the server</a></p>
    </div>
  );
}

export function NoStore(p: { why: string }) {
  return (
    <div class="screen">
      <h2>Recording is off here</h2>
      <p>This browser gives the app no store, so nothing could be kept without signal: {p.why}.</p>
      <p>A private window is the usual reason: open the app in an ordinary one. If the phone is full, delete something on it.</p>
      <p><a class="act main" href="./">Try again</a></p>
    </div>
  );
}
