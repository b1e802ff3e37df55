// Hears of changes of the record, from this page, another one or another program, and draws the page anew.
import { notice, say } from "./ask.js";
import { redraw } from "./redraw.js";

const LOST = "The desk does not answer: is it still running in the terminal? What you type cannot be saved until it is back.";
const ANEW = "The desk was started anew and does not know this window: open the link that it printed in the terminal. What you type here cannot be saved.";
let wait = 500;

// To be called with {revision, what, outside} when the record may have changed.
export async function changed({ revision, outside }) {
  if (revision === document.body.dataset.revision) return;
  await redraw();
  if (outside) say("The record was changed outside the desk; the page shows it as it is now.");
}

function connect() {
  const address = new URL(`${document.body.dataset.item}/changes`, location.href);
  address.protocol = "ws:";
  const socket = new WebSocket(address);
  socket.addEventListener("open", () => { wait = 500; notice(""); });
  socket.addEventListener("message", (event) => {
    const told = JSON.parse(event.data);
    if ("sentence" in told) notice(told.sentence); else changed(told);
  });
  socket.addEventListener("close", async () => {
    const answer = await fetch(location.href, { method: "HEAD" }).catch(() => null);
    notice(answer?.status === 403 ? ANEW : LOST);
    setTimeout(connect, wait);
    wait = Math.min(8000, wait * 2);
  });
}

// A page that is being left closes its connection; that is no reason to alarm anybody.
export function listen() {
  connect();
}
