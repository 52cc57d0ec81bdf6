/** How the general checker looks at a note; what is off is a matter of taste, and why. */
import type { ConfigData } from "html-validate";

export const noteRules: ConfigData = {
  extends: ["html-validate:recommended", "html-validate:document"],
  rules: {
    // The parser takes both, and the note's size counts.
    "void-style": "off",
    "no-inline-style": "off",
    "no-trailing-whitespace": "off",
    // A scrolling part needs the keyboard; that is the accessibility rule it would otherwise break.
    "prefer-native-element": "off",
    "long-title": "off",
    "no-raw-characters": "off",
  },
};
