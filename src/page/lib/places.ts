/** Where the program answers, beside the page's own address. */
export interface Places {
  readonly socket: string;
  /** With a slash at the end; a file's name follows. */
  readonly recordings: string;
  readonly recordingList: string;
}

export function placesBeside(page: string): Places {
  const socket = new URL("ws", page);
  socket.protocol = socket.protocol === "https:" ? "wss:" : "ws:";
  return {
    socket: socket.href,
    recordings: new URL("api/recordings/", page).href,
    recordingList: new URL("api/recordings", page).href,
  };
}
