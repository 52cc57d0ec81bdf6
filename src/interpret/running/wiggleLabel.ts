/** How a place is named in the mark of a wiggle. */
const lead = "wiggled: ";

export const wiggleLabel = (place: string): string => `${lead}${place.trim()}`;

/** The place alone, where the label was made here. */
export const withoutWiggled = (label: string): string =>
  label.startsWith(lead) ? label.slice(lead.length) : label;
