// Where in the app one is: an address after the #, so that the phone's own way back
// works and a screen survives a restart.

export interface Route {
  path: string[]; // its parts, decoded
  query: URLSearchParams;
}

export function parseRoute(hash: string): Route {
  const [path = "", query = ""] = hash.replace(/^#\/?/, "").split("?", 2);
  return { path: path.split("/").filter(Boolean).map(decodeURIComponent), query: new URLSearchParams(query) };
}

/** An address of parts, which may hold any characters, and what is asked there. */
export function address(parts: string[], query: Record<string, string | undefined> = {}): string {
  const asked = new URLSearchParams();
  for (const [k, v] of Object.entries(query)) if (v !== undefined) asked.set(k, v);
  const text = asked.toString();
  return `#/${parts.map(encodeURIComponent).join("/")}${text ? `?${text}` : ""}`;
}

export function go(to: string, replace = false): void {
  if (replace) location.replace(to);
  else location.hash = to;
}

export function back(): void {
  history.back();
}
