/** Where the program answers, beside the page's own address. */
export interface Places {
  readonly socket: string;
  /** For a page that carries an adapter. */
  readonly carry: string;
  /** With a slash at the end; a file's name follows. */
  readonly recordings: string;
  readonly recordingList: string;
  /** With a slash at the end; a file's name follows. */
  readonly summaries: string;
  readonly find: string;
  readonly cases: string;
  readonly normals: string;
  readonly references: string;
}

export function placesBeside(page: string): Places {
  const socketAt = (name: string): string => {
    const url = new URL(name, page);
    url.protocol = url.protocol === "https:" ? "wss:" : "ws:";
    return url.href;
  };
  return {
    socket: socketAt("ws"),
    carry: socketAt("carry"),
    recordings: new URL("api/recordings/", page).href,
    recordingList: new URL("api/recordings", page).href,
    summaries: new URL("api/summaries/", page).href,
    find: new URL("api/find", page).href,
    cases: new URL("api/cases", page).href,
    normals: new URL("api/normals", page).href,
    references: new URL("api/references", page).href,
  };
}
