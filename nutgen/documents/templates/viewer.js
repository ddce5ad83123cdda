"use strict";
(() => {
  // Parts to be turned: one light from the upper left and one from the right. What is seen through is drawn last,
  // outer parts after inner ones: its far side before the inner part, its near side after it. What is marked "before" is seen before everything.
  const canvas = document.getElementById("view");
  const data = document.getElementById("mesh");
  if (!canvas || !data) return;
  const gl = canvas.getContext("webgl", { antialias: true, alpha: true, preserveDrawingBuffer: true });
  if (!gl) return;

  const parts = JSON.parse(data.textContent).parts;
  const bytes = (text) => Uint8Array.from(atob(text), (letter) => letter.charCodeAt(0)).buffer;
  if (parts.some((part) => part.wide) && !gl.getExtension("OES_element_index_uint")) return;

  const low = [Infinity, Infinity, Infinity];
  const high = [-Infinity, -Infinity, -Infinity];
  for (const part of parts) {
    part.points = Float32Array.from(new Uint16Array(bytes(part.places)), (value, i) => value * part.step + part.low[i % 3]);
    part.points.forEach((value, i) => {
      low[i % 3] = Math.min(low[i % 3], value);
      high[i % 3] = Math.max(high[i % 3], value);
    });
  }
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
     uniform vec3 dark; uniform vec3 light; uniform float cover; uniform vec4 line; varying vec3 side;
     void main() {
       vec3 n = normalize(gl_FrontFacing ? side : -side);
       float main_light = max(dot(n, vec3(-0.33, 0.53, 0.78)), 0.0);
       float fill = max(dot(n, vec3(0.80, 0.10, 0.59)), 0.0);
       float shine = pow(max(dot(n, vec3(-0.20, 0.34, 0.92)), 0.0), 40.0);
       vec3 tone = mix(dark, light, min(1.0, 0.30 + 0.58 * main_light + 0.22 * fill));
       float slant = 1.0 - abs(n.z);
       float seen = mix(min(0.92, cover * (0.6 + 2.4 * slant * slant)), 1.0, step(1.0, cover));
       gl_FragColor = mix(vec4(tone + 0.10 * shine, 1.0) * seen, vec4(line.rgb, 1.0) * max(seen, 0.4), line.a);
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
  const [place, normal] = ["place", "normal"].map((name) => gl.getAttribLocation(program, name));
  gl.enableVertexAttribArray(place);
  gl.enableVertexAttribArray(normal);
  for (const part of parts) {
    const Numbers = part.wide ? Uint32Array : Uint16Array;
    part.kind = part.wide ? gl.UNSIGNED_INT : gl.UNSIGNED_SHORT;
    part.places = fill(gl.ARRAY_BUFFER, part.points);
    part.normals = fill(gl.ARRAY_BUFFER, new Int8Array(bytes(part.normals)));
    for (const shape of ["triangles", "edges"]) {
      const numbers = new Numbers(bytes(part[shape]));
      part[shape] = { count: numbers.length, buffer: fill(gl.ELEMENT_ARRAY_BUFFER, numbers) };
    }
    part.shown = true;
  }
  const NAMES = ["turn", "middle", "lens", "depth", "lift", "line", "dark", "light", "cover"];
  const at = Object.fromEntries(NAMES.map((name) => [name, gl.getUniformLocation(program, name)]));
  gl.enable(gl.DEPTH_TEST);
  gl.enable(gl.CULL_FACE);
  gl.blendFunc(gl.ONE, gl.ONE_MINUS_SRC_ALPHA);

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
    const shown = parts.filter((part) => part.shown);
    const clear = shown.filter((part) => part.cover < 1);
    for (const part of shown) if (part.cover >= 1 && !part.before) paint(part, gl.BACK);
    gl.enable(gl.BLEND);
    gl.depthMask(false);
    for (const part of [...clear].reverse()) paint(part, gl.FRONT);
    for (const part of clear) paint(part, gl.BACK);
    gl.depthMask(true);
    gl.disable(gl.BLEND);
    gl.disable(gl.DEPTH_TEST);
    for (const part of shown) if (part.before) paint(part, gl.BACK);
    gl.enable(gl.DEPTH_TEST);
  };

  const paint = (part, hidden) => {
    const shape = ({ count, buffer }, how) => {
      gl.bindBuffer(gl.ELEMENT_ARRAY_BUFFER, buffer);
      gl.drawElements(how, count, part.kind, 0);
    };
    gl.bindBuffer(gl.ARRAY_BUFFER, part.places);
    gl.vertexAttribPointer(place, 3, gl.FLOAT, false, 0, 0);
    gl.bindBuffer(gl.ARRAY_BUFFER, part.normals);
    gl.vertexAttribPointer(normal, 3, gl.BYTE, true, 0, 0);
    gl.cullFace(hidden);
    gl.uniform3fv(at.dark, part.dark);
    gl.uniform3fv(at.light, part.light);
    gl.uniform1f(at.cover, part.cover);
    gl.uniform1f(at.lift, 0);
    gl.uniform4f(at.line, 0, 0, 0, 0);
    shape(part.triangles, gl.TRIANGLES);
    gl.uniform1f(at.lift, 0.0015);
    gl.uniform4fv(at.line, part.line);
    if (hidden === gl.BACK) shape(part.edges, gl.LINES);
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
  const boxes = [...document.querySelectorAll("[data-shows]")];
  const show = () => {
    for (const part of parts) part.shown = boxes.find((box) => box.dataset.shows === part.name)?.checked ?? true;
    ask();
  };
  for (const box of boxes) box.addEventListener("change", show);
  show();

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
