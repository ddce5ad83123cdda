"use strict";
(() => {
  // Ticks, readings and notes: kept under the hash of the values, where the browser lets a page keep anything.
  const shelf = "nutgen " + document.body.dataset.hash;
  const kept = [...document.querySelectorAll("[data-keep]")];
  const stages = kept.filter((field) => "stage" in field.dataset);
  const written = document.querySelector(".written");

  const recall = () => {
    try {
      return JSON.parse(localStorage.getItem(shelf)) || {};
    } catch {
      return {};
    }
  };
  const keep = () => {
    const values = {};
    for (const field of kept) {
      const value = field.type === "checkbox" ? field.checked : field.value;
      if (value) values[field.dataset.keep] = value;
    }
    try {
      localStorage.setItem(shelf, JSON.stringify(values));
    } catch {
      // a page opened from a disk may not be allowed to keep anything
    }
  };
  const show = (values) => {
    for (const field of kept) {
      const value = values[field.dataset.keep];
      if (field.type === "checkbox") field.checked = value === true;
      else field.value = typeof value === "string" ? value : "";
    }
    tell();
  };
  const tell = () => {
    const done = stages.filter((field) => field.checked).length;
    document.getElementById("done").textContent = `${done} of ${stages.length} stages done`;
    written.textContent = document.getElementById("writing").value;
  };

  show(recall());
  document.addEventListener("input", (event) => {
    if (!("keep" in event.target.dataset)) return;
    keep();
    tell();
  });
  document.getElementById("afresh").addEventListener("click", () => {
    if (!confirm("Clear every tick, reading and note on this sheet?")) return;
    show({});
    keep();
  });
})();

(() => {
  // The part: one mesh, one light from the upper left and one from the right.
  const canvas = document.getElementById("view");
  const data = document.getElementById("mesh");
  if (!canvas || !data) return;
  const gl = canvas.getContext("webgl", { antialias: true, alpha: true, preserveDrawingBuffer: true });
  if (!gl) return;

  const part = JSON.parse(data.textContent);
  const bytes = (text) => Uint8Array.from(atob(text), (letter) => letter.charCodeAt(0)).buffer;
  const Numbers = part.wide ? Uint32Array : Uint16Array;
  const kind = part.wide ? gl.UNSIGNED_INT : gl.UNSIGNED_SHORT;
  if (part.wide && !gl.getExtension("OES_element_index_uint")) return;
  const places = Float32Array.from(new Uint16Array(bytes(part.places)), (value, i) => value * part.step + part.low[i % 3]);
  const triangles = new Numbers(bytes(part.triangles));
  const edges = new Numbers(bytes(part.edges));

  const low = [Infinity, Infinity, Infinity];
  const high = [-Infinity, -Infinity, -Infinity];
  places.forEach((value, i) => {
    low[i % 3] = Math.min(low[i % 3], value);
    high[i % 3] = Math.max(high[i % 3], value);
  });
  const middle = low.map((value, i) => (value + high[i]) / 2);
  const reach = Math.hypot(...high.map((value, i) => value - middle[i]));

  const program = gl.createProgram();
  const add = (type, text) => {
    const shader = gl.createShader(type);
    gl.shaderSource(shader, text);
    gl.compileShader(shader);
    gl.attachShader(program, shader);
  };
  add(
    gl.VERTEX_SHADER,
    `attribute vec3 place; attribute vec3 normal;
     uniform mat3 turn; uniform vec3 middle; uniform vec2 lens; uniform vec3 depth; uniform float lift;
     varying vec3 side;
     void main() {
       vec3 seen = turn * (place - middle);
       float away = depth.x - seen.z;
       side = turn * normal;
       gl_Position = vec4(seen.xy * lens, (away * depth.y + depth.z) - lift * away, away);
     }`,
  );
  add(
    gl.FRAGMENT_SHADER,
    `precision mediump float;
     uniform vec4 line; varying vec3 side;
     void main() {
       vec3 n = normalize(side);
       float main_light = max(dot(n, vec3(-0.33, 0.53, 0.78)), 0.0);
       float fill = max(dot(n, vec3(0.80, 0.10, 0.59)), 0.0);
       float shine = pow(max(dot(n, vec3(-0.20, 0.34, 0.92)), 0.0), 40.0);
       vec3 bone = mix(vec3(0.42, 0.34, 0.26), vec3(1.0, 0.965, 0.89), min(1.0, 0.30 + 0.58 * main_light + 0.22 * fill));
       gl_FragColor = mix(vec4(bone + 0.10 * shine, 1.0), vec4(line.rgb, 1.0), line.a);
     }`,
  );
  gl.linkProgram(program);
  if (!gl.getProgramParameter(program, gl.LINK_STATUS)) return;
  gl.useProgram(program);

  const fill = (target, values) => {
    const buffer = gl.createBuffer();
    gl.bindBuffer(target, buffer);
    gl.bufferData(target, values, gl.STATIC_DRAW);
    return buffer;
  };
  const feed = (name, values, type, normalised) => {
    fill(gl.ARRAY_BUFFER, values);
    const where = gl.getAttribLocation(program, name);
    gl.enableVertexAttribArray(where);
    gl.vertexAttribPointer(where, 3, type, normalised, 0, 0);
  };
  feed("place", places, gl.FLOAT, false);
  feed("normal", new Int8Array(bytes(part.normals)), gl.BYTE, true);
  const faces = fill(gl.ELEMENT_ARRAY_BUFFER, triangles);
  const rims = fill(gl.ELEMENT_ARRAY_BUFFER, edges);
  const uniform = (name) => gl.getUniformLocation(program, name);
  const at = Object.fromEntries(["turn", "middle", "lens", "depth", "lift", "line"].map((name) => [name, uniform(name)]));
  gl.enable(gl.DEPTH_TEST);
  gl.enable(gl.CULL_FACE);

  const HOME = { turn: 0.37, above: 0.59, near: 1 };
  const STEP = Math.PI / 18;
  const view = { ...HOME };
  let goal = { ...HOME };
  let waiting = 0;

  const draw = () => {
    const ratio = Math.min(2, window.devicePixelRatio || 1);
    const wide = Math.round(canvas.clientWidth * ratio);
    const tall = Math.round(canvas.clientHeight * ratio);
    if (!wide || !tall) return;
    if (canvas.width !== wide || canvas.height !== tall) Object.assign(canvas, { width: wide, height: tall });
    const [ct, st, ca, sa] = [Math.cos(view.turn), Math.sin(view.turn), Math.cos(view.above), Math.sin(view.above)];
    // rows: to the right, upward, toward the eye; looked at from the bridge, along +y
    const rows = [ct, st, 0, -st * sa, ct * sa, ca, st * ca, -ct * ca, sa];
    const columns = [0, 3, 6, 1, 4, 7, 2, 5, 8].map((i) => rows[i]);
    const distance = 4.5 * reach;
    const zoom = (view.near * distance) / (1.04 * reach);
    const [nearest, farthest] = [distance - 1.1 * reach, distance + 1.1 * reach];
    gl.viewport(0, 0, wide, tall);
    gl.clearColor(0, 0, 0, 0);
    gl.clear(gl.COLOR_BUFFER_BIT | gl.DEPTH_BUFFER_BIT);
    gl.uniformMatrix3fv(at.turn, false, columns);
    gl.uniform3fv(at.middle, middle);
    gl.uniform2f(at.lens, zoom * Math.min(1, (1.9 * tall) / wide), (zoom * Math.min(1, (1.9 * tall) / wide) * wide) / tall);
    gl.uniform3f(at.depth, distance, (farthest + nearest) / (farthest - nearest), (-2 * farthest * nearest) / (farthest - nearest));
    gl.uniform1f(at.lift, 0);
    gl.uniform4f(at.line, 0, 0, 0, 0);
    gl.bindBuffer(gl.ELEMENT_ARRAY_BUFFER, faces);
    gl.drawElements(gl.TRIANGLES, triangles.length, kind, 0);
    gl.uniform1f(at.lift, 0.0015);
    gl.uniform4f(at.line, 0.25, 0.19, 0.14, 0.75);
    gl.bindBuffer(gl.ELEMENT_ARRAY_BUFFER, rims);
    gl.drawElements(gl.LINES, edges.length, kind, 0);
  };

  const still = matchMedia("(prefers-reduced-motion: reduce)");
  const settle = () => {
    waiting = 0;
    let moving = false;
    for (const key of Object.keys(view)) {
      const left = goal[key] - view[key];
      moving ||= Math.abs(left) > 1e-3;
      view[key] = still.matches || Math.abs(left) <= 1e-3 ? goal[key] : view[key] + left * 0.35;
    }
    draw();
    if (moving && !still.matches) ask();
  };
  const ask = () => (waiting ||= requestAnimationFrame(settle));
  const go = (change) => {
    goal = { ...goal, ...change };
    goal.above = Math.max(-Math.PI / 2, Math.min(Math.PI / 2, goal.above));
    goal.near = Math.max(0.6, Math.min(8, goal.near));
    ask();
  };
  const jump = (change) => {
    go(change);
    Object.assign(view, goal);
  };

  const moves = {
    left: () => go({ turn: goal.turn - STEP }),
    right: () => go({ turn: goal.turn + STEP }),
    up: () => go({ above: goal.above + STEP }),
    down: () => go({ above: goal.above - STEP }),
    in: () => go({ near: goal.near * 1.25 }),
    out: () => go({ near: goal.near / 1.25 }),
    home: () => {
      view.turn = Math.atan2(Math.sin(view.turn), Math.cos(view.turn));
      go(HOME);
    },
  };
  const keys = {
    ArrowLeft: "left", ArrowRight: "right", ArrowUp: "up", ArrowDown: "down",
    "+": "in", "=": "in", "-": "out", "−": "out", "_": "out", Home: "home", 0: "home",
  };
  canvas.addEventListener("keydown", (event) => {
    const move = event.ctrlKey || event.metaKey || event.altKey ? undefined : keys[event.key];
    if (!move) return;
    event.preventDefault();
    moves[move]();
  });
  for (const button of document.querySelectorAll("[data-turn]")) {
    button.addEventListener("click", () => moves[button.dataset.turn]());
  }

  const fingers = new Map();
  const apart = () => {
    const [a, b] = [...fingers.values()];
    return Math.hypot(a.x - b.x, a.y - b.y);
  };
  canvas.addEventListener("pointerdown", (event) => {
    canvas.setPointerCapture(event.pointerId);
    fingers.set(event.pointerId, { x: event.clientX, y: event.clientY });
  });
  canvas.addEventListener("pointermove", (event) => {
    const finger = fingers.get(event.pointerId);
    if (!finger) return;
    const before = fingers.size === 2 ? apart() : 0;
    const [dx, dy] = [event.clientX - finger.x, event.clientY - finger.y];
    Object.assign(finger, { x: event.clientX, y: event.clientY });
    if (fingers.size === 2) jump({ near: (goal.near * apart()) / (before || 1) });
    else jump({ turn: goal.turn + 0.009 * dx, above: goal.above + 0.009 * dy });
  });
  for (const end of ["pointerup", "pointercancel", "lostpointercapture"]) {
    canvas.addEventListener(end, (event) => fingers.delete(event.pointerId));
  }
  canvas.addEventListener("dblclick", () => moves.home());
  canvas.addEventListener(
    "wheel",
    (event) => {
      if (!event.ctrlKey && document.activeElement !== canvas) return;
      event.preventDefault();
      jump({ near: goal.near * Math.exp(-0.002 * event.deltaY) });
    },
    { passive: false },
  );

  const frame = canvas.closest(".part");
  frame.classList.add("live");
  frame.classList.toggle("pictured", Boolean(frame.querySelector("img.still")));
  canvas.addEventListener("webglcontextlost", () => frame.classList.remove("live"));
  new ResizeObserver(ask).observe(canvas);
  ask();
})();
