/** Runs inside the page, put there by the measuring browser: what only the page itself can time. */

/** Of each message with live lines: the byte it begins at, when it came, when what it changed was painted. */
const live = { waiting: [], painted: [] };
const wallMs = () => performance.timeOrigin + performance.now();

/** Notes when frames of live lines come, before the page sees them; the bare page draws them at once. */
const isBare = location.pathname.endsWith("/bare.html");
let sent = [];
globalThis.WebSocket = class extends WebSocket {
  constructor(...how) {
    super(...how);
    this.binaryType = "arraybuffer";
    this.addEventListener("message", ({ data }) => {
      if (typeof data === "string") return;
      (isBare ? live.waiting : sent).push({ from: new DataView(data).getFloat64(0), came: wallMs() });
    });
  }
};

/** The page itself can draw lines when the thread has read them: those up to the byte that it tells of. */
globalThis.Worker = class extends Worker {
  constructor(...how) {
    super(...how);
    this.addEventListener("message", ({ data }) => {
      if (data?.kind !== "of" || data.say.kind !== "news") return;
      live.waiting.push(...sent.filter(({ from }) => from < data.say.bytes));
      sent = sent.filter(({ from }) => from >= data.say.bytes);
    });
  }
};

/**
 * What came before a frame is taken in by the callbacks of that frame, and is on the screen when it has been painted. A
 * canvas is cleared when it is drawn anew: a frame without that had nothing new to show.
 */
let frame = null;
const ask = globalThis.requestAnimationFrame.bind(globalThis);
globalThis.requestAnimationFrame = (callback) =>
  ask((time) => {
    if (frame === null && live.waiting.length > 0) {
      frame = { messages: live.waiting, drew: false };
      live.waiting = [];
      const channel = new MessageChannel();
      channel.port1.onmessage = () => {
        const at = wallMs();
        for (const { from, came } of frame.messages) live.painted.push([from, came, at, frame.drew]);
        frame = null;
      };
      channel.port2.postMessage(0);
    }
    callback(time);
  });

const clear = CanvasRenderingContext2D.prototype.clearRect;
CanvasRenderingContext2D.prototype.clearRect = function (...where) {
  if (frame !== null) frame.drew = true;
  clear.apply(this, where);
};

globalThis.measuring = {
  /** Hands over what was painted since it was last asked: [byte, came, painted, drawn], times by the wall clock. */
  takeLive() {
    const { painted } = live;
    live.painted = [];
    return painted;
  },

  /** Asks for the list of recordings; resolves when this one is on it. */
  async listed(file) {
    const step = () => new Promise((resolve) => setTimeout(resolve, 20));
    const choice = () =>
      [...document.querySelectorAll("label")].find((label) =>
        label.textContent.trim().startsWith("A recording"),
      );
    while (!choice()) await step();
    choice().querySelector("input").click();
    while (!document.querySelector(`button[aria-label="open ${file}"]`)) await step();
    // What the page began with shall not be measured along; nobody finds a file sooner than this, and the floor waits too.
    await new Promise((resolve) => requestIdleCallback(resolve, { timeout: 1000 }));
    await new Promise((resolve) => setTimeout(resolve, 500));
  },

  /** Fetching a file as text, splitting it and parsing each line; milliseconds. */
  async floor(file) {
    const from = performance.now();
    const text = await (await fetch(`api/recordings/${file}?from=0`, { cache: "no-store" })).text();
    for (const one of text.split("\n")) if (one !== "") JSON.parse(one);
    return performance.now() - from;
  },

  /** From the click on a recording to the frame in which all of it is on the screen; milliseconds. */
  async open(file) {
    const from = performance.now();
    document.querySelector(`button[aria-label="open ${file}"]`).click();
    for (;;) {
      await new Promise((resolve) => requestAnimationFrame(resolve));
      const chart = document.querySelector('section.chart[aria-busy="false"]');
      if (chart !== null && chart.querySelectorAll("canvas").length > 0) break;
    }
    await this.painted();
    return performance.now() - from;
  },

  /** The end of the next frame: its callbacks, style, layout and paint are done. Resolves to what that took. */
  painted() {
    return new Promise((resolve) => {
      requestAnimationFrame(() => {
        const began = performance.now();
        const channel = new MessageChannel();
        channel.port1.onmessage = () => resolve(performance.now() - began);
        channel.port2.postMessage(0);
      });
    });
  },

  /** Work of each of `frames` frames, handlers included, while the paper is zoomed and moved about; milliseconds. */
  async move(frames) {
    const overlay = document.querySelector(".overlay");
    const { left, width, top } = overlay.getBoundingClientRect();
    const work = [];
    const wheel = (deltaX, deltaY, part) =>
      overlay.dispatchEvent(
        new WheelEvent("wheel", {
          deltaX,
          deltaY,
          clientX: left + part * width,
          clientY: top + 5,
          cancelable: true,
        }),
      );
    for (let i = 0; i < frames; i++) {
      // Asked for first, so it runs before the page's own callback of that frame.
      const painted = this.painted();
      const from = performance.now();
      if (i % 120 < 60) wheel(0, i % 40 < 20 ? -160 : 150, 0.2 + (i % 7) / 10);
      else wheel(i % 60 < 30 ? 90 : -80, 0, 0.5);
      const handled = performance.now() - from;
      work.push(handled + (await painted));
    }
    return work;
  },
};
