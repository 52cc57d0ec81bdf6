/**
 * The page's modules with runes, as they run without a screen: state is a plain value, and what is derived is worked out
 * when it is asked for.
 */
export function runes() {
  return {
    name: "runes",
    // After the types are taken out.
    enforce: "post",
    async transform(code, id) {
      if (!id.endsWith(".svelte.ts")) return null;
      const { compileModule } = await import("svelte/compiler");
      return { code: compileModule(code, { filename: id, generate: "server" }).js.code, map: null };
    },
  };
}
