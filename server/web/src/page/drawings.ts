// Drawings as the worker makes them, from the same code as the office's pages.
import type { App } from "./app.ts";
import type { Book, Drawn } from "./book.ts";
import { initialsOf } from "./office.ts";

function about(app: App): object {
  const initials: Record<string, string> = {};
  for (const p of app.office?.people ?? []) initials[p.id] = initialsOf(p);
  return { initials };
}

export function drawFloor(app: App, book: Book, turn: number): Promise<Drawn> {
  return book.ask("floor", { ...about(app), turn, round: true });
}

export function drawSection(app: App, book: Book, support: string): Promise<Drawn> {
  return book.ask("section", { ...about(app), support });
}

export function drawLine(app: App, book: Book, bearer: string): Promise<Drawn> {
  return book.ask("line", { ...about(app), bearer });
}
