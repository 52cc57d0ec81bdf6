/** What a command ends with. A command that says nothing ended well. */
export interface Outcome {
  status: number;
}
