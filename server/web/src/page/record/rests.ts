// The reading that a signature rests on.
import type { ID } from "../../shared/event.ts";
import type { Book } from "../book.ts";

const far = 2000; // lines of the book that are looked through

/** The last reading of a place that counts. */
export async function lastReadingOf(book: Book, point: string): Promise<{ reading?: ID }> {
  const lines = await book.lines(far);
  const line = lines.filter((l) => l.kind === "reading" && l.staff_mm !== undefined && !l.voided && !l.aside && l.points?.includes(point)).at(-1);
  return line ? { reading: line.id } : {};
}
