/** The address that was asked for, or null for what is none. */
export function urlOf(target: string | undefined): URL | null {
  // Two slashes at the beginning would be read as another machine's name.
  const path = (target ?? "/").replace(/^\/+/, "/");
  if (!path.startsWith("/")) return null;
  try {
    return new URL(path, "http://localhost");
  } catch (error) {
    if (error instanceof TypeError) return null;
    throw error;
  }
}

export function pathOf(target: string | undefined): string | null {
  return urlOf(target)?.pathname ?? null;
}

/** Undoes percent signs; null where they are wrong. */
export function decoded(text: string): string | null {
  try {
    return decodeURIComponent(text);
  } catch (error) {
    if (error instanceof URIError) return null;
    throw error;
  }
}
