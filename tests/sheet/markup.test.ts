import fc from "fast-check";
import { expect, test } from "vitest";
import { csvLine, textCell } from "../../src/sheet/csv.ts";
import { escaped, markup, plainText } from "../../src/sheet/markup.ts";

test.each(["=1+1", "+1", "-1", "@SUM(A1)", "\t=1+1", "\r=1+1", "\n=1+1", "＝1", "＋1", "－1", "＠x"])(
  "a spreadsheet takes %j for a formula: it gets an apostrophe",
  (text) => {
    expect(textCell(text)).toBe(`'${text}`);
  },
);

test.each(["fuel added", "1=1", "a\tb", "", "'=1"])("%j is a text as it is", (text) => {
  expect(textCell(text)).toBe(text);
});

test.each([
  ["a,b", '"a,b"'],
  ['a"b', '"a""b"'],
  ["a\rb", '"a\rb"'],
  ["a\nb", '"a\nb"'],
  ["a\tb", "a\tb"],
])("%j stands in one cell of a line", (text, cell) => {
  expect(csvLine([text, "1"])).toBe(`${cell},1\r\n`);
});

test("each character that turns the direction of writing is left out, and its neighbours stay (Unicode, UAX 9)", () => {
  const turning = [0x202a, 0x202b, 0x202c, 0x202d, 0x202e, 0x2066, 0x2067, 0x2068, 0x2069];
  for (const code of turning)
    expect(plainText(`a${String.fromCodePoint(code)}b`), code.toString(16)).toBe("ab");
  for (const code of [0x2029, 0x202f, 0x2065, 0x206a, 0x200f])
    expect(plainText(String.fromCodePoint(code)), code.toString(16)).toBe(String.fromCodePoint(code));
});

test("what is put into markup is escaped once, lists are joined, nothing leaves nothing", () => {
  expect(markup`<b title="${'"'}">${"<&>'"}</b>${null}${undefined}${[1, "<", markup`<i></i>`]}`.text).toBe(
    '<b title="&quot;">&lt;&amp;&gt;&#39;</b>1&lt;<i></i>',
  );
  expect(escaped("a\u0000b\u0008c\uFFFEd\td\n")).toBe("a\uFFFDb\uFFFDc\uFFFDd\td\n");
});

test("no text gets out of its place, whatever it holds", () => {
  fc.assert(
    fc.property(fc.string({ unit: "binary" }), (text) => {
      expect(markup`${text}`.text).not.toMatch(/[<>"']|&(?!(?:amp|lt|gt|quot|#39);)/);
    }),
  );
});
