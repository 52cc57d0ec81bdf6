/** The thread on which the page's recordings are read. */
import { pageClock } from "../app/clock.ts";
import { Analysts } from "./analysts.ts";
import type { FromAnalysts, ToAnalysts } from "./analystTalk.ts";
import { bodyOf } from "./body.ts";
import { nextTurns } from "./nextTurn.ts";

const analysts = new Analysts({ clock: pageClock, rest: nextTurns(), bodyOf }, (say: FromAnalysts) => {
  const columns = say.kind === "of" && say.say.kind === "news" ? [say.say.news.columns.buffer] : [];
  postMessage(say, { transfer: columns });
});

// Work goes on after a message was taken: what fails in it is an error of the thread, too, and the page takes over.
addEventListener("unhandledrejection", ({ reason }) => reportError(reason));
addEventListener("message", ({ data }: MessageEvent<ToAnalysts>) => analysts.hear(data));
