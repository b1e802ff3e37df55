// A hand that is laid on a picture, moves and lets go: by mouse, pen or finger.

// `moved` is told of each place, in the picture's own coordinates, as soon as the machine knows it: that is up to a frame
// before the page is next drawn, and what is asked for then can be shown in that very frame. `laid` is told of the first.
export function held(node, { laid, moved, released = () => {} }) {
  const picture = node.ownerSVGElement ?? node;
  let place = null;

  // Asking where the picture stands has the page laid out at once, which is dear while the picture follows the hand. It
  // is asked once, when the hand is laid on; places on the page hold even when the page is scrolled meanwhile.
  function started(event) {
    const inverse = picture.getScreenCTM().inverse(), x = event.pageX - event.clientX, y = event.pageY - event.clientY;
    place = (now) => { const { x: px, y: py } = new DOMPoint(now.pageX - x, now.pageY - y).matrixTransform(inverse); return [px, py]; };
  }

  node.addEventListener("pointerdown", (event) => {
    if (event.button !== 0) return;
    started(event);
    node.setPointerCapture(event.pointerId);
    laid(place(event), event);
  });
  for (const kind of ["pointerrawupdate", "pointermove"]) node.addEventListener(kind, (event) => { if (place) moved(place(event)); });
  for (const end of ["pointerup", "pointercancel", "lostpointercapture"]) node.addEventListener(end, () => { if (place) { place = null; released(); } });
}
