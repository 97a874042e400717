"use strict";
// A small turnable view: solids are drawn triangle by triangle into a picture with a depth for each pixel.
// It needs neither network nor graphics hardware.
(() => {
  const figure = document.getElementById("view");
  const canvas = figure.querySelector("canvas");
  const pen = canvas.getContext("2d");
  if (!pen) return;
  const calm = window.matchMedia("(prefers-reduced-motion: reduce)");
  const LOOKS = { front: [0, 0], back: [Math.PI, 0], edge: [0, -Math.PI / 2], slant: [-0.5, -0.75] };
  const STEP = Math.PI / 24;
  const side = canvas.width;
  const picture = pen.createImageData(side, side);
  const pixels = new Uint32Array(picture.data.buffer);
  const depth = new Float32Array(side * side);
  let [yaw, pitch] = LOOKS.slant;
  let zoom = 1;
  let turning = 0;
  let asked = 0;

  const words = (text) => {
    const raw = atob(text);
    const bytes = new Uint8Array(raw.length);
    for (let i = 0; i < raw.length; i += 1) bytes[i] = raw.charCodeAt(i);
    const values = new Uint16Array(bytes.length / 2);
    const view = new DataView(bytes.buffer);
    for (let i = 0; i < values.length; i += 1) values[i] = view.getUint16(2 * i, true);
    return values;
  };

  const data = JSON.parse(document.getElementById("solids").textContent);
  const parts = data.parts.map((part) => ({
    points: words(part.points),
    faces: words(part.faces),
    color: [1, 3, 5].map((at) => parseInt(part.color.slice(at, at + 2), 16)),
  }));

  // The box of all points, so that the piece turns about its middle and fits however it is turned.
  const low = [Infinity, Infinity, Infinity];
  const high = [-Infinity, -Infinity, -Infinity];
  for (const { points } of parts) {
    for (let i = 0; i < points.length; i += 1) {
      low[i % 3] = Math.min(low[i % 3], points[i]);
      high[i % 3] = Math.max(high[i % 3], points[i]);
    }
  }
  const middle = low.map((value, axis) => (value + high[axis]) / 2);
  const reach = Math.max(Math.hypot(high[0] - low[0], high[2] - low[2]), Math.hypot(high[1] - low[1], high[2] - low[2])) / 2;

  const turned = (points, scale) => {
    const [cy, sy, cp, sp] = [Math.cos(yaw), Math.sin(yaw), Math.cos(pitch), Math.sin(pitch)];
    const out = new Float32Array(points.length);
    for (let i = 0; i < points.length; i += 3) {
      const x = points[i] - middle[0];
      const y = points[i + 1] - middle[1];
      const z = points[i + 2] - middle[2];
      const across = cy * x + sy * z;
      const toward = cy * z - sy * x;
      out[i] = side / 2 + across * scale;
      out[i + 1] = side / 2 - (cp * y - sp * toward) * scale;
      out[i + 2] = (cp * toward + sp * y) * scale;
    }
    return out;
  };

  const fill = (p, a, b, c, shade) => {
    const [ax, ay, az, bx, by, bz, cx, cy, cz] = [p[a], p[a + 1], p[a + 2], p[b], p[b + 1], p[b + 2], p[c], p[c + 1], p[c + 2]];
    const area = (bx - ax) * (cy - ay) - (by - ay) * (cx - ax);
    if (area >= 0) return; // seen from behind: rows run down, so what faces us runs the other way round
    const top = Math.max(0, Math.ceil(Math.min(ay, by, cy) - 0.5));
    const bottom = Math.min(side - 1, Math.floor(Math.max(ay, by, cy) - 0.5));
    const left = Math.max(0, Math.ceil(Math.min(ax, bx, cx) - 0.5));
    const right = Math.min(side - 1, Math.floor(Math.max(ax, bx, cx) - 0.5));
    for (let row = top; row <= bottom; row += 1) {
      const y = row + 0.5;
      for (let column = left; column <= right; column += 1) {
        const x = column + 0.5;
        const u = ((bx - x) * (cy - y) - (by - y) * (cx - x)) / area;
        const v = ((cx - x) * (ay - y) - (cy - y) * (ax - x)) / area;
        const w = 1 - u - v;
        if (u < 0 || v < 0 || w < 0) continue;
        const z = u * az + v * bz + w * cz;
        const at = row * side + column;
        if (z > depth[at]) {
          depth[at] = z;
          pixels[at] = shade;
        }
      }
    }
  };

  const shadeOf = (color, p, a, b, c) => {
    const [ux, uy, uz] = [p[b] - p[a], p[b + 1] - p[a + 1], p[b + 2] - p[a + 2]];
    const [vx, vy, vz] = [p[c] - p[a], p[c + 1] - p[a + 1], p[c + 2] - p[a + 2]];
    const n = [uy * vz - uz * vy, uz * vx - ux * vz, ux * vy - uy * vx];
    const size = Math.hypot(...n) || 1;
    // Light from the upper left before the page; rows run down, so normals come out reversed.
    const light = Math.max(0, (0.42 * n[0] + 0.5 * n[1] - 0.76 * n[2]) / size);
    const bright = 0.5 + 0.6 * light;
    const [r, g, b2] = color.map((value) => Math.min(255, Math.round(14 + value * 0.9 * bright)));
    return (255 << 24) | (b2 << 16) | (g << 8) | r;
  };

  const draw = () => {
    asked = 0;
    pixels.fill(0);
    depth.fill(-Infinity);
    const scale = (0.47 * side * zoom) / reach;
    for (const { points, faces, color } of parts) {
      const p = turned(points, scale);
      for (let i = 0; i < faces.length; i += 3) {
        const [a, b, c] = [faces[i] * 3, faces[i + 1] * 3, faces[i + 2] * 3];
        fill(p, a, b, c, shadeOf(color, p, a, b, c));
      }
    }
    pen.putImageData(picture, 0, 0);
  };

  // The zoom at which the piece, turned as it is now, just fits.
  const fit = () => {
    const scale = (0.47 * side) / reach;
    let most = 0;
    for (const { points } of parts) {
      const p = turned(points, scale);
      for (let i = 0; i < p.length; i += 3) {
        most = Math.max(most, Math.abs(p[i] - side / 2), Math.abs(p[i + 1] - side / 2));
      }
    }
    return (0.47 * side) / Math.max(most, 1);
  };

  const look = (name) => {
    [yaw, pitch] = LOOKS[name];
    zoom = fit();
    redraw();
  };

  const redraw = () => {
    if (!asked) asked = requestAnimationFrame(draw);
  };

  const turnBy = (right, down) => {
    yaw += right;
    pitch = Math.max(-Math.PI / 2, Math.min(Math.PI / 2, pitch + down));
    redraw();
  };

  const resize = (factor) => {
    zoom = Math.max(0.5, Math.min(6, zoom * factor));
    redraw();
  };

  const button = figure.querySelector("[data-turn]");
  const stop = () => {
    cancelAnimationFrame(turning);
    turning = 0;
    button.setAttribute("aria-pressed", "false");
  };
  const spin = (last) => (now) => {
    turnBy(Math.min(now - last, 100) * 0.0006, 0);
    turning = requestAnimationFrame(spin(now));
  };
  button.addEventListener("click", () => {
    if (turning) stop();
    else if (calm.matches) turnBy(4 * STEP, 0);
    else {
      button.setAttribute("aria-pressed", "true");
      turning = requestAnimationFrame(spin(performance.now()));
    }
  });
  calm.addEventListener("change", stop);

  for (const item of figure.querySelectorAll("[data-look]")) {
    item.addEventListener("click", () => {
      stop();
      look(item.dataset.look);
    });
  }
  for (const item of figure.querySelectorAll("[data-zoom]")) {
    item.addEventListener("click", () => resize(Number(item.dataset.zoom)));
  }

  const KEYS = {
    ArrowLeft: () => turnBy(-STEP, 0),
    ArrowRight: () => turnBy(STEP, 0),
    ArrowUp: () => turnBy(0, -STEP),
    ArrowDown: () => turnBy(0, STEP),
    "+": () => resize(1.25),
    "=": () => resize(1.25),
    "-": () => resize(0.8),
    Home: () => look("slant"),
  };
  canvas.addEventListener("keydown", (event) => {
    const act = KEYS[event.key];
    if (!act || event.ctrlKey || event.metaKey || event.altKey) return;
    event.preventDefault();
    stop();
    act();
  });

  canvas.addEventListener("pointerdown", (event) => {
    stop();
    canvas.setPointerCapture(event.pointerId);
  });
  canvas.addEventListener("pointermove", (event) => {
    if (!canvas.hasPointerCapture(event.pointerId)) return;
    const turn = Math.PI / canvas.clientWidth;
    turnBy(event.movementX * turn, event.movementY * turn);
  });

  figure.hidden = false;
  zoom = fit();
  draw();
})();
