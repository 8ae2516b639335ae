// What every recorder is given.
import type { Picture, Setup, Support } from "../../shared/picture.ts";
import { address } from "../route.ts";
import type { Book } from "../book.ts";

export interface Recording {
  book: Book;
  picture: Picture;
  query: URLSearchParams; // what the address asks: support, bearer, face, …
}

/** Where one goes when it is recorded: back to what led here, to the support it was
 *  opened for, or to the floor. */
export function comeBack(p: Recording): string {
  const then = p.query.get("then");
  if (then) return address(["job", p.book.job, "do", then]);
  const support = p.query.get("support");
  return support ? address(["job", p.book.job, "support", support]) : address(["job", p.book.job]);
}

export function supportOf(p: Recording): Support | undefined {
  const id = p.query.get("support");
  return p.picture.supports.find((s) => s.id === id);
}

/** The set-up that is read from now: the person's own, else the latest that was not
 *  closed. */
export function liveSetup(p: Picture, who: string | undefined): Setup | undefined {
  const open = (p.setups ?? []).filter((s) => !s.closed);
  return open.find((s) => s.by === who) ?? open[0];
}
