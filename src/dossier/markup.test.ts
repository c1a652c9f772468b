import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { bytesToBase64, floatsToBase64 } from "./base64.ts";
import { escapeText, html, scriptJson } from "./markup.ts";

describe("markup", () => {
  it("escapes every value and leaves nested markup alone", () => {
    const inner = html`<b>${"<&>\"'"}</b>`;
    expect(html`<p title="${'"x'}">${inner}${[1, "<"]}${undefined}${false}</p>`.text).toBe(
      '<p title="&quot;x"><b>&lt;&amp;&gt;&quot;&#39;</b>1&lt;</p>',
    );
  });

  it("leaves no character of any text that could open markup or that a document may not hold", () => {
    fc.assert(
      fc.property(fc.string({ unit: "binary" }), (text) => {
        const escaped = escapeText(text);
        expect(escaped).not.toMatch(/[<>"']/);
        expect(escaped.replaceAll(/&(amp|lt|gt|quot|#39);/g, "")).not.toContain("&");
        // biome-ignore lint/suspicious/noControlCharactersInRegex: what must not be there
        expect(escaped).not.toMatch(/[\u0000-\u0008\u000b\u000c\u000e-\u001f]/);
      }),
      { seed: 20260101, numRuns: 500 },
    );
  });

  it("keeps a lone surrogate out of the text", () => {
    expect(escapeText("a\ud800b")).toBe("a\ufffdb");
    expect(escapeText("a\u{1f600}b")).toBe("a\u{1f600}b");
  });

  it("writes JSON that reads back the same and cannot end a script element", () => {
    const value = { name: "</script><!--\u2028&", list: [1, null] };
    const { text } = scriptJson(value);
    expect(text).not.toMatch(/[<>&\u2028]/);
    expect(JSON.parse(text)).toEqual(value);
  });
});

describe("base64", () => {
  it("agrees with the runtime's own encoder on any bytes", () => {
    fc.assert(
      fc.property(fc.uint8Array({ maxLength: 40 }), (bytes) => {
        expect(bytesToBase64(bytes)).toBe(Buffer.from(bytes).toString("base64"));
      }),
      { seed: 20260102 },
    );
  });

  it("holds 32-bit floats in little-endian order", () => {
    const bytes = Buffer.from(floatsToBase64(Float64Array.of(1.5, -0.1)), "base64");
    expect(bytes.readFloatLE(0)).toBe(1.5);
    expect(bytes.readFloatLE(4)).toBe(Math.fround(-0.1));
  });
});
