export function Scan(_: { label: string; found: (text: string) => unknown }) {
  return null;
}
