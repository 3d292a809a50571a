// Modules of the pages by themselves, in the browser that uses them.
import assert from "node:assert/strict";
import fs from "node:fs";
import path from "node:path";
import { after, before, describe, test } from "node:test";
import { folderOf, lull, opened, startBrowser, startDesk } from "./support.mjs";

let desk;
let browser;
const inPage = (use, given) => {
  let out;
  return opened(browser, desk, "", {}, async (page) => {
    // The view of the page itself would put its parts in place of those of the test.
    await page.waitForFunction(() => document.title.endsWith("– Lull"));
    out = await page.evaluate(use, given);
  }).then(() => out);
};

before(async () => {
  desk = await startDesk(folderOf({ "ground.mkv": "highland.mkv" }));
  browser = await startBrowser();
});

after(async () => {
  await browser?.close();
  await desk?.stop();
  if (desk) fs.rmSync(desk.folder, { recursive: true });
});

describe("what is written anew by itself", () => {
  test("keeps who is on a link or a heading of it, and leaves others where they are", async () => {
    const seen = await inPage(async () => {
      const { h, refill } = await import("./dom.js");
      const list = h("div");
      const link = (to) => h("a", { set: { href: `#/tune/${to}` } }, "Tune");
      const heading = (words) => h("summary", { set: { "data-same": "night" } }, words);
      const on = () => document.activeElement.getAttribute("href") ?? document.activeElement.textContent;
      document.body.append(list);
      refill(list, link("a"), link("b"));
      list.children[1].focus();
      const out = [];
      refill(list, link("new"), link("a"), link("b"));
      out.push(on());
      refill(list, h("details", {}, heading("1 at work")));
      out.push(document.activeElement === document.body);  // it has gone
      list.querySelector("summary").focus();
      refill(list, h("details", {}, heading("1 done")), link("b"));
      out.push(on());
      const named = (words) => h("button", { set: { type: "button" } }, words);
      refill(list, named("a"), named("b"));
      list.children[1].focus();
      refill(list, named("a"), named("b"));
      out.push(document.activeElement === document.body);  // nothing says which is the same
      list.remove();
      return out;
    });
    assert.deepEqual(seen, ["#/tune/b", true, "1 done", true]);
  });
});

describe("a trend of a night", () => {
  test("stands at the time of the captures, drawn and as a table; several nights stand beside each other", async () => {
    const seen = await inPage(async () => {
      const { trend } = await import("./trend.js");
      const out = [];
      for (const days of [["2026-02-10T20:00:00Z", "2026-02-10T20:10:00Z", "2026-02-10T23:00:00Z"], ["2026-02-10T20:00:00Z", "2026-02-20T20:00:00Z", "2026-03-20T20:00:00Z"]]) {
        const made = trend("Altitude", "degrees", "Higher is better.", days.map((when, i) => ({ name: `m${i}.ser`, when, value: 20 + 10 * i })));
        document.body.append(made.element);
        await new Promise((done) => setTimeout(done, 300));
        // Columns in which the line is drawn.
        const canvas = made.element.querySelector("canvas");
        const { data, width, height } = canvas.getContext("2d").getImageData(0, 0, canvas.width, canvas.height);
        const columns = new Set();
        for (let i = 0; i < width * height; ++i) if (data[4 * i + 2] > 200 && data[4 * i] < 120 && data[4 * i + 3] > 200) columns.add(i % width);
        out.push({ drawn: columns.size / width, rows: made.element.querySelectorAll("tr").length });
        made.end();
        made.element.remove();
      }
      return out;
    });
    for (const { drawn, rows } of seen) {
      assert.ok(drawn > 0.5, `${drawn}`);
      assert.equal(rows, 3);
    }
  });
});

describe("gains of detail", () => {
  test("are drawn as lull finish applies them", async () => {
    const text = "1.5:2.4,3:1.6,8:0.7";
    const work = fs.mkdtempSync(path.join(desk.folder, "work"));
    lull(work, "stack", "../ground.mkv", "-o", "ground.tif", "--keep", "30%");
    lull(work, "finish", "ground.linear.fits", "-o", "out.tif", "--detail", text, "--restraint", "0");
    const { figures } = JSON.parse(fs.readFileSync(path.join(work, "out.finish.json"), "utf8"));
    const measured = figures.detail_gains.filter((at) => at.cycles_per_px > 0 && at.cycles_per_px <= 0.5);
    assert.ok(measured.length > 100);
    const drawn = await inPage(async ([points, sizes]) => {
      const { curveThrough, gainsOf } = await import("./gains.js");
      return sizes.map(curveThrough(gainsOf(points)));
    }, [text, measured.map((at) => 0.5 / at.cycles_per_px)]);
    drawn.forEach((gain, i) => assert.ok(Math.abs(gain - measured[i].gain) < 1e-3, `${measured[i].cycles_per_px}: ${gain} ${measured[i].gain}`));
  });

  test("are doubtful where the halves do not agree and the curve raises", async () => {
    const out = await inPage(async () => {
      const { curveThrough, uncertain } = await import("./gains.js");
      const frc = { frequency_cycles_per_px: [0.05, 0.1, 0.2, 0.3, 0.4], frc: [1, 0.9, 0.5, 0.2, 0.1], threshold: [], resolution_px: 4, arcsec_per_px: null };
      return [uncertain(curveThrough([{ size: 1, gain: 2 }, { size: 8, gain: 1 }]), frc), uncertain(() => 1, frc), uncertain(() => 2, null)];
    });
    // 2 FRC / (1 + FRC) is below half where FRC < 1/3: from 0.3 cycles per px on, features of 0.5 / 0.3 px.
    assert.deepEqual(out, [[0.5 / 0.4, 0.5 / 0.3], null, null]);
  });
});

describe("words", () => {
  test("frames become ranges and back", async () => {
    const out = await inPage(async () => {
      const { framesOf, ranges } = await import("./words.js");
      return [ranges([9, 3, 5, 6, 7, 8]), framesOf("3,5-9", 10), framesOf("3,5-10", 10), framesOf("5-3", 10), framesOf("a", 10), framesOf("", 10)];
    });
    assert.deepEqual(out, ["3,5-9", [3, 5, 6, 7, 8, 9], null, null, null, []]);
  });
});

describe("tone", () => {
  test("black and white are where they are set, and the middle follows the power", async () => {
    const out = await inPage(async () => {
      const { paint, suggestedTone } = await import("./tone.js");
      const picture = { width: 5, height: 1, channels: 1, samples: Uint16Array.from([0, 6554, 26214, 45875, 65535]) };
      const seen = (tone, red) => [...paint(picture, tone, red).getContext("2d").getImageData(0, 0, 5, 1).data];
      const many = { width: 1000, height: 10, channels: 1, samples: Uint16Array.from({ length: 10000 }, (_, i) => (i < 5 ? 0 : i > 9994 ? 65535 : 16384 + (i % 100))) };
      return { plain: seen({ black: 0.1, white: 0.7, power: 1 }, false), red: seen({ black: 0, white: 1, power: 1 }, true), suggested: suggestedTone(many) };
    });
    const gray = out.plain.filter((_, i) => i % 4 === 0);
    assert.deepEqual([gray[0], gray[1], gray[3], gray[4]], [0, 0, 255, 255]);
    assert.ok(Math.abs(gray[2] - 127.5) < 1);
    assert.ok(out.red.every((value, i) => i % 4 === 0 || i % 4 === 3 || value === 0));
    assert.ok(Math.abs(out.suggested.black - 0.25) < 0.001 && Math.abs(out.suggested.white - 0.2515) < 0.002);
  });
});

describe("the focus", () => {
  test("goes to a view that opens, and stays with who is in it already", async () => {
    const seen = await inPage(async () => {
      const { startRoutes } = await import("./route.js");
      const main = document.createElement("main");
      main.tabIndex = -1;
      document.body.append(main);
      const button = document.createElement("button");
      startRoutes(main, {
        "": async () => ({ title: "first" }),
        plain: async () => ({ title: "plain" }),
        quick: async (place) => { place.append(button); button.focus(); return { title: "quick" }; },
      });
      const at = async (hash) => {
        location.hash = hash;
        await new Promise((resolve) => setTimeout(resolve, 100));
        return document.activeElement === main ? "main" : document.activeElement === button ? "button" : "elsewhere";
      };
      return [await at("#/plain"), await at("#/quick"), await at("#/plain")];
    });
    assert.deepEqual(seen, ["main", "button", "main"]);
  });
});

describe("10,000 captures", () => {
  test("make few cards, and each can be reached by keys", async () => {
    const out = await inPage(async () => {
      const { Cards } = await import("./cards.js");
      const cards = new Cards({
        id: (item) => item.id,
        card: (item) => { const card = document.createElement("article"); const link = document.createElement("a"); link.href = "#"; link.textContent = item.id; card.append(link); return card; },
      }, "Test");
      const place = document.createElement("div");
      document.querySelector("main").replaceChildren(place);
      place.append(cards.element);
      const begun = performance.now();
      cards.show(Array.from({ length: 10000 }, (_, i) => ({ id: `c${i}` })));
      await new Promise((resolve) => requestAnimationFrame(() => requestAnimationFrame(resolve)));
      const took = performance.now() - begun;
      const first = cards.element.children.length;
      cards.focus(9999);
      await new Promise((resolve) => requestAnimationFrame(() => requestAnimationFrame(resolve)));
      const last = [document.activeElement.textContent, cards.element.children.length];
      cards.step(-1, 0);
      return { took, first, last, before: document.activeElement.textContent };
    });
    assert.ok(out.took < 1000 && out.first > 5 && out.first < 80, `${out.took} ms, ${out.first} cards`);
    assert.equal(out.last[0], "c9999");
    assert.ok(out.last[1] < 80);
    assert.equal(out.before, "c9998");
  });
});
