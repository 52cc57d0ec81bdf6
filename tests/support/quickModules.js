/**
 * For Vite's module runner, which keeps what a module exports in an object without a prototype: V8 looks such an object
 * up anew at each use, which took a third of a simulated run. One that another descends from is put in order when
 * something is first looked up through it; nothing else changes. No lines are moved.
 */
export function quickModules() {
  const afterwards =
    'if (typeof __vite_ssr_exports__ === "object") { const heir = Object.create(__vite_ssr_exports__); ' +
    "const look = () => heir.default; look(); look(); look(); }";
  return {
    name: "quick-modules",
    enforce: "post",
    transform: (code, id) =>
      id.endsWith(".ts") && !id.includes("/node_modules/")
        ? { code: `${code}\n;${afterwards}`, map: null }
        : null,
  };
}
