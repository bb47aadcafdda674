// Nests: a tapped piece says which it is, with all its likes; arrow keys go from piece to piece; buttons, Ctrl and the
// wheel, or two fingers make the sheet larger.
"use strict";
const holder = document.getElementById("nest-pieces");
const sheets = holder ? JSON.parse(holder.textContent) : {};
for (const nest of document.querySelectorAll(".nest")) {
  const frame = nest.querySelector(".sheet"), picture = frame.querySelector("svg"), says = nest.querySelector("output");
  const pieces = sheets[nest.dataset.nest] || [], drawn = [...picture.querySelectorAll(".piece")];
  let picked = -1, larger = 1;

  const shape = picture.viewBox.baseVal;
  const base = () => Math.min(frame.clientWidth, (0.7 * innerHeight * shape.width) / shape.height);
  const pick = (k) => {
    picked = (k + drawn.length) % drawn.length;
    const part = pieces[picked][0];
    drawn.forEach((piece, n) => {
      piece.classList.toggle("same", pieces[n][0] === part);
      piece.classList.toggle("picked", n === picked);
    });
    says.textContent = pieces[picked][1];
  };
  const show = () => {
    const box = drawn[picked].getBoundingClientRect(), room = frame.getBoundingClientRect();
    if (box.left < room.left || box.right > room.right) frame.scrollLeft += box.left - room.left - room.width / 3;
    if (box.top < room.top || box.bottom > room.bottom) frame.scrollTop += box.top - room.top - room.height / 3;
  };
  const zoom = (factor, x, y) => {
    const now = Math.max(1, Math.min(12, larger * factor)), room = frame.getBoundingClientRect();
    const ax = (x === undefined ? room.width / 2 : x - room.left), ay = (y === undefined ? room.height / 2 : y - room.top);
    const px = (frame.scrollLeft + ax) / larger, py = (frame.scrollTop + ay) / larger;
    larger = now;
    picture.style.maxHeight = larger > 1 ? "none" : "";
    picture.style.width = larger > 1 ? base() * larger + "px" : "";
    frame.scrollLeft = px * larger - ax;
    frame.scrollTop = py * larger - ay;
  };

  picture.addEventListener("click", (event) => {
    const piece = event.target.closest(".piece");
    if (piece) pick(Number(piece.dataset.k));
  });
  frame.addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.metaKey || event.altKey || !drawn.length) return;
    const doing = {
      ArrowRight: () => pick(picked + 1), ArrowDown: () => pick(picked + 1),
      ArrowLeft: () => pick(picked < 0 ? -1 : picked - 1), ArrowUp: () => pick(picked < 0 ? -1 : picked - 1),
      Home: () => pick(0), End: () => pick(-1), "+": () => zoom(1.4), "=": () => zoom(1.4), "-": () => zoom(1 / 1.4),
    }[event.key];
    if (!doing) return;
    event.preventDefault();
    doing();
    if (picked >= 0) show();
  });
  for (const button of nest.querySelectorAll("[data-zoom]")) {
    button.addEventListener("click", () => zoom({ in: 1.5, out: 1 / 1.5, fit: 1 / 12 }[button.dataset.zoom]));
  }
  frame.addEventListener("wheel", (event) => {
    if (!event.ctrlKey) return;
    event.preventDefault();
    zoom(event.deltaY < 0 ? 1.2 : 1 / 1.2, event.clientX, event.clientY);
  }, { passive: false });
  let apart = 0;
  frame.addEventListener("touchmove", (event) => {
    if (event.touches.length !== 2) return;
    event.preventDefault();
    const [a, b] = event.touches, now = Math.hypot(a.clientX - b.clientX, a.clientY - b.clientY);
    if (apart) zoom(now / apart, (a.clientX + b.clientX) / 2, (a.clientY + b.clientY) / 2);
    apart = now;
  }, { passive: false });
  frame.addEventListener("touchend", () => { apart = 0; });
}
