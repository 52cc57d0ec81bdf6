/** What a device of the network sees before it was let in: nothing but a place for the code. In the page's own colours. */
export const joinPage = `<!doctype html>
<html lang="en">
  <head>
    <meta charset="utf-8" />
    <meta name="viewport" content="width=device-width, initial-scale=1" />
    <title>Crankside: the code</title>
    <style>
      :root { color-scheme: light dark; --paper: #fffefa; --ink: #1d222b; --soft: #5a5547; --edge: #8d8673;
        --accent: #005f96; --warn: #a34700; }
      @media (prefers-color-scheme: dark) {
        :root { --paper: #1c1f25; --ink: #ebe7dc; --soft: #aea897; --edge: #7d7a70; --accent: #7cc4ee; --warn: #f2a35e; }
      }
      body { margin: 0; padding: 20px 16px; background: var(--paper); color: var(--ink);
        font: 16px/1.45 system-ui, "Segoe UI", "Noto Sans", "DejaVu Sans", sans-serif; }
      main { display: grid; gap: 14px; max-width: 30rem; margin: 0 auto; }
      h1 { margin: 0; font-size: 18px; }
      p { margin: 0; }
      label { display: grid; gap: 4px; color: var(--soft); }
      input { width: 100%; min-height: 56px; padding: 4px 12px; box-sizing: border-box; background: var(--paper);
        color: var(--ink); border: 1px solid var(--edge); border-radius: 4px; font: inherit; font-size: 26px;
        letter-spacing: 0.12em; text-transform: uppercase; }
      form { display: grid; gap: 12px; }
      button { min-height: 64px; background: var(--accent); color: var(--paper); border: 0; border-radius: 8px;
        font: inherit; font-size: 20px; font-weight: 650; }
      :focus-visible { outline: 2px solid var(--accent); outline-offset: 2px; }
      #said { color: var(--warn); font-weight: 600; }
      .soft { color: var(--soft); font-size: 14px; }
    </style>
    <script src="/join.js" defer></script>
  </head>
  <body>
    <main>
      <h1>Crankside</h1>
      <p>Type the code that the laptop shows, or point the camera at the picture beside it.</p>
      <form>
        <label>Code <input name="code" autocomplete="off" autocapitalize="characters" spellcheck="false"
          maxlength="12" required /></label>
        <button>Join</button>
      </form>
      <p id="said" role="alert"></p>
      <p class="soft">This device then reads what the engine does, and sets marks. The laptop does the rest.</p>
      <noscript>The readings are drawn with a script; please allow scripts for this page.</noscript>
    </main>
  </body>
</html>
`;

export const joinScript = `const form = document.querySelector("form");
const said = document.getElementById("said");
async function join(code) {
  said.textContent = "";
  try {
    const answer = await fetch("/join", { method: "POST", body: code });
    if (answer.ok) location.replace("/");
    else said.textContent = (await answer.text()).trim();
  } catch {
    said.textContent = "The laptop does not answer. Is this device in the same network?";
  }
}
form.addEventListener("submit", (event) => {
  event.preventDefault();
  join(form.elements.code.value);
});
function fromLetter() {
  const read = location.hash.slice(1);
  if (read === "") return;
  history.replaceState(null, "", "/join");
  form.elements.code.value = read;
  join(read);
}
fromLetter();
// The camera opens the letter on the page that is there already.
addEventListener("hashchange", fromLetter);
`;
