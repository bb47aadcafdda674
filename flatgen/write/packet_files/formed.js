// Formed parts, turned under the finger, the mouse or the arrow keys. Every surface is filled line by line into a
// picture that keeps the depth of each dot, so that what lies behind is hidden whatever the shape.
"use strict";
const shapes = JSON.parse(document.getElementById("formed-shapes")?.textContent || "[]");
const START = { turn: -0.7, tilt: 1.0, size: 1 };

function colour(name) {
  const text = getComputedStyle(document.documentElement).getPropertyValue(name).trim();
  const n = parseInt(text.slice(1), 16);
  return [n >> 16, (n >> 8) & 255, n & 255];
}

class Formed {
  constructor(box, shape) {
    this.view = { ...START };
    this.canvas = document.createElement("canvas");
    this.canvas.tabIndex = 0;
    this.canvas.setAttribute("role", "img");
    this.canvas.setAttribute("aria-label", box.dataset.label);
    this.take(shape);

    box.append(this.canvas);
    // another part in its place, and another side of it, from elsewhere on the page
    box.addEventListener("shape", (event) => { this.take(event.detail); this.later(1); });
    box.addEventListener("side", (event) => { Object.assign(this.view, event.detail); this.later(1); });
    box.parentElement.classList.add("live");
    this.listen();
    this.seen = false;
    new IntersectionObserver((entries) => {
      this.seen = entries[entries.length - 1].isIntersecting;
      if (this.seen) this.later(1);
    }, { rootMargin: "200px" }).observe(this.canvas);
    new ResizeObserver(() => this.seen && this.later(1)).observe(this.canvas);
  }

  take(shape) {
    this.shape = shape;
    this.reach = 1;
    const v = shape.v;
    for (let i = 0; i < v.length; i += 3) this.reach = Math.max(this.reach, Math.hypot(v[i], v[i + 1], v[i + 2]));
  }

  listen() {
    const canvas = this.canvas, fingers = new Map();
    let apart = 0;
    canvas.addEventListener("pointerdown", (event) => {
      canvas.setPointerCapture(event.pointerId);
      fingers.set(event.pointerId, [event.clientX, event.clientY]);
      apart = 0;
    });
    canvas.addEventListener("pointermove", (event) => {
      const last = fingers.get(event.pointerId);
      if (!last) return;
      fingers.set(event.pointerId, [event.clientX, event.clientY]);
      if (fingers.size === 2) {
        const [a, b] = [...fingers.values()], now = Math.hypot(a[0] - b[0], a[1] - b[1]);
        if (apart) this.resize(now / apart);
        apart = now;
      } else {
        this.turn((event.clientX - last[0]) * 0.01, (event.clientY - last[1]) * 0.01);
      }
    });
    const up = (event) => { fingers.delete(event.pointerId); apart = 0; this.later(1); };
    canvas.addEventListener("pointerup", up);
    canvas.addEventListener("pointercancel", up);
    canvas.addEventListener("keydown", (event) => {
      const step = 0.15;
      const doing = {
        ArrowLeft: () => this.turn(-step, 0), ArrowRight: () => this.turn(step, 0),
        ArrowUp: () => this.turn(0, -step), ArrowDown: () => this.turn(0, step),
        "+": () => this.resize(1.15), "=": () => this.resize(1.15), "-": () => this.resize(1 / 1.15),
        Home: () => { this.view = { ...START }; },
      }[event.key];
      if (!doing || event.ctrlKey || event.metaKey || event.altKey) return;
      event.preventDefault();
      doing();
      this.later(1);
    });
    matchMedia("(prefers-color-scheme: dark)").addEventListener("change", () => this.later(1));
  }

  turn(across, down) {
    this.view.turn += across;
    this.view.tilt = Math.max(-Math.PI, Math.min(Math.PI, this.view.tilt - down));
    this.later(0);
  }

  resize(factor) {
    this.view.size = Math.max(0.4, Math.min(8, this.view.size * factor));
    this.later(0);
  }

  // coarse while it moves, fine when it rests
  later(fine) {
    this.fine = fine;
    if (this.waits) return;
    this.waits = true;
    requestAnimationFrame(() => {
      this.waits = false;
      this.draw(this.fine ? 2 : 1);
    });
  }

  draw(finer) {
    const canvas = this.canvas, dots = Math.min(2, devicePixelRatio || 1);
    const wide = Math.max(1, Math.round(canvas.clientWidth * dots)), high = Math.max(1, Math.round(canvas.clientHeight * dots));
    if (wide < 2 || high < 2) return;
    const w = wide * finer, h = high * finer;
    const scale = this.fitted(w, h) * this.view.size;
    const points = this.project(scale, w / 2, h / 2);
    const image = new ImageData(w, h), depth = new Float32Array(w * h).fill(-Infinity);
    const inks = { lit: colour("--lit"), shade: colour("--shade"), edge: colour("--edge") };
    for (const surface of this.shape.s) this.fill(surface, points, image, depth, w, h, inks);
    const lift = this.shape.t * scale * 0.3;
    const thick = Math.max(1, Math.round(dots * finer * 0.8));
    for (const edge of this.shape.e) this.edge(edge, points, image, depth, w, h, lift, inks.edge, 1, thick);
    for (const edge of this.shape.g) this.edge(edge, points, image, depth, w, h, lift, inks.edge, 0.35, 1);
    const rough = document.createElement("canvas");
    rough.width = w;
    rough.height = h;
    rough.getContext("2d").putImageData(image, 0, 0);
    canvas.width = wide;
    canvas.height = high;
    const context = canvas.getContext("2d");
    context.imageSmoothingQuality = "high";
    context.drawImage(rough, 0, 0, wide, high);
  }

  // dots a count: as large as the first view allows, yet no larger than still shows most of it when it is turned
  fitted(w, h) {
    const now = this.view;
    this.view = START;
    const points = this.project(1, 0, 0);
    this.view = now;
    let across = 1, up = 1;
    for (let i = 0; i < points.length; i += 3) {
      across = Math.max(across, Math.abs(points[i]));
      up = Math.max(up, Math.abs(points[i + 1]));
    }
    return Math.min((0.46 * w) / across, (0.46 * h) / up, (0.8 * Math.min(w, h)) / this.reach);
  }

  // x to the right, y down, z toward the viewer, in dots
  project(scale, cx, cy) {
    const { turn, tilt } = this.view, v = this.shape.v, out = new Float64Array(v.length);
    const c = Math.cos(turn), s = Math.sin(turn), ct = Math.cos(tilt), st = Math.sin(tilt);
    for (let i = 0; i < v.length; i += 3) {
      const x = c * v[i] - s * v[i + 1], y = s * v[i] + c * v[i + 1], z = v[i + 2];
      out[i] = cx + x * scale;
      out[i + 1] = cy - (ct * y + st * z) * scale;
      out[i + 2] = (ct * z - st * y) * scale;
    }
    return out;
  }

  fill(loops, points, image, depth, w, h, inks) {
    let nx = 0, ny = 0, nz = 0, mx = 0, my = 0, mz = 0, top = Infinity, low = -Infinity;
    const outer = loops[0];
    for (let k = 0; k < outer.length; k++) {
      const a = outer[k] * 3, b = outer[(k + 1) % outer.length] * 3;
      nx += (points[a + 1] - points[b + 1]) * (points[a + 2] + points[b + 2]);
      ny += (points[a + 2] - points[b + 2]) * (points[a] + points[b]);
      nz += (points[a] - points[b]) * (points[a + 1] + points[b + 1]);
      mx += points[a]; my += points[a + 1]; mz += points[a + 2];
      top = Math.min(top, points[a + 1]); low = Math.max(low, points[a + 1]);
    }
    const size = Math.hypot(nx, ny, nz);
    if (Math.abs(nz) < 1e-4 * size || size === 0) return;
    mx /= outer.length; my /= outer.length; mz /= outer.length;
    const gx = -nx / nz, gy = -ny / nz;
    const bright = (Math.sign(nz) * (-0.35 * nx - 0.6 * ny + 0.72 * nz)) / size; // light from above, left of the viewer
    const share = Math.max(0, Math.min(1, 0.15 + 0.9 * bright));
    const ink = inks.lit.map((value, k) => inks.shade[k] + (value - inks.shade[k]) * share);
    const from = Math.max(0, Math.ceil(top - 0.5)), to = Math.min(h - 1, Math.floor(low - 0.5));
    const crossings = [];
    for (let row = from; row <= to; row++) {
      const y = row + 0.5;
      crossings.length = 0;
      for (const loop of loops) {
        for (let k = 0; k < loop.length; k++) {
          const a = loop[k] * 3, b = loop[(k + 1) % loop.length] * 3, ya = points[a + 1], yb = points[b + 1];
          if ((ya > y) !== (yb > y)) crossings.push(points[a] + ((y - ya) / (yb - ya)) * (points[b] - points[a]));
        }
      }
      crossings.sort((p, q) => p - q);
      for (let k = 0; k + 1 < crossings.length; k += 2) {
        const first = Math.max(0, Math.ceil(crossings[k] - 0.5)), last = Math.min(w - 1, Math.floor(crossings[k + 1] - 0.5));
        let z = mz + gx * (first + 0.5 - mx) + gy * (y - my), at = row * w + first;
        for (let column = first; column <= last; column++, at++, z += gx) {
          if (z <= depth[at]) continue;
          depth[at] = z;
          const dot = at * 4;
          image.data[dot] = ink[0]; image.data[dot + 1] = ink[1]; image.data[dot + 2] = ink[2]; image.data[dot + 3] = 255;
        }
      }
    }
  }

  edge(chain, points, image, depth, w, h, lift, ink, strength, thick) {
    for (let k = 0; k + 1 < chain.length; k++) {
      const a = chain[k] * 3, b = chain[k + 1] * 3;
      const dx = points[b] - points[a], dy = points[b + 1] - points[a + 1], dz = points[b + 2] - points[a + 2];
      const steps = Math.max(1, Math.ceil(Math.max(Math.abs(dx), Math.abs(dy))));
      for (let n = 0; n <= steps; n++) {
        const share = n / steps, z = points[a + 2] + share * dz + lift;
        const x = Math.floor(points[a] + share * dx - (thick - 1) / 2), y = Math.floor(points[a + 1] + share * dy - (thick - 1) / 2);
        for (let i = 0; i < thick; i++) {
          for (let j = 0; j < thick; j++) {
            if (x + i < 0 || x + i >= w || y + j < 0 || y + j >= h) continue;
            const at = (y + j) * w + x + i;
            if (z < depth[at]) continue;
            const dot = at * 4, old = image.data[dot + 3] ? strength : 1;
            for (let c = 0; c < 3; c++) image.data[dot + c] += (ink[c] - image.data[dot + c]) * old;
            image.data[dot + 3] = Math.max(image.data[dot + 3], 255 * strength);
          }
        }
      }
    }
  }
}

function show(list) {
  for (const box of document.querySelectorAll(".formed")) {
    const shape = list[Number(box.dataset.shape)];
    if (shape && !box.firstChild) new Formed(box, shape);
  }
}
document.addEventListener("formed", (event) => show(event.detail)); // shapes that come later
show(shapes);
