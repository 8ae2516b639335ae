// On an iPhone: first onto the home screen, then pair, inside the app.
import { Act } from "../ui/act.tsx";
import { useApp } from "../ui/app.tsx";
import { Frame } from "../ui/frame.tsx";

export function Install() {
  const app = useApp();
  return (
    <Frame title="Put it on the home screen">
      <p>In a browser tab this phone throws away what was recorded after seven days without a visit. On the home screen it keeps it.</p>
      <ol class="rows">
        <li>Touch the Share sign at the foot or the top of the browser.</li>
        <li>Choose “Add to Home Screen”.</li>
        <li>Open relevel from the home screen, and pair it there: the tab and the app share nothing.</li>
      </ol>
      <Act sort="quiet" do={() => app.set({ tab: true })}>Record in this tab all the same, at my risk</Act>
    </Frame>
  );
}
