/** What a command ends with. A command that says nothing ended well. */
export interface CommandOutcome {
  status: number;
}
