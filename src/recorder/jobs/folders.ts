/** Where jobs and the recordings that they name are looked for. */
export interface JobFolders {
  /** The person's recordings; jobs are in `jobs` in it. */
  readonly own: string;
  readonly bundled: string | null;
}
