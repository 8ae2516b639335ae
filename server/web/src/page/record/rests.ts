// The reading that a signature rests on.
import type { ID } from "../../shared/event.ts";
import type { Book } from "../book.ts";

const near = 500; // lines of the book that are looked through at first

/** The last reading of a place that counts, however many lines of others came after. */
export async function lastReadingOf(book: Pick<Book, "lines">, point: string): Promise<{ reading?: ID }> {
  for (let far = near; ; far *= 8) {
    const lines = await book.lines(far);
    const line = lines.filter((l) => l.kind === "reading" && l.staff_mm !== undefined && !l.voided && !l.aside && l.points?.includes(point)).at(-1);
    if (line) return { reading: line.id };
    if (lines.length < far) return {};
  }
}
