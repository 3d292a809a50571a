// Reports in headless Chromium: they load without errors or requests, can be used by mouse, touch
// and keyboard, in light and dark, on a desk and on a telephone, and pass axe-core (WCAG 2.1 A, AA).
// Usage: LULL=program SAMPLES=folder LULL_NODE_MODULES=folder node --test report.test.mjs
import assert from "node:assert/strict";
import { execFileSync } from "node:child_process";
import fs from "node:fs";
import { createRequire } from "node:module";
import os from "node:os";
import path from "node:path";
import { after, before, describe, test } from "node:test";
import { fileURLToPath, pathToFileURL } from "node:url";

const modules = createRequire(path.join(process.env.LULL_NODE_MODULES, "/"));
const { chromium } = modules("playwright-core");
const axeSource = fs.readFileSync(modules.resolve("axe-core/axe.min.js"), "utf8");

const desk = { width: 1280, height: 900 };
const phone = { width: 390, height: 844 };
// Names that close tags and scripts, turn the direction of text, and run commands of a shell.
const hostileFolder = "x<";
const hostileFile = "script><script>window.owned=1<\u202e\"' onerror=\"window.owned=1\" $(touch owned)&amp;.mkv";

let folder;
let browser;
const pages = {};

function lull(...words) {
  execFileSync(process.env.LULL, words, { cwd: folder, stdio: ["ignore", "ignore", "inherit"] });
}

before(async () => {
  folder = fs.mkdtempSync(path.join(os.tmpdir(), "lull_report_"));
  const sample = (name) => path.join(process.env.SAMPLES, name);
  lull("stack", sample("highland.mkv"), "-o", "ground.tif", "--aperture", "203", "--focal-length", "2900", "--pixel", "3");
  lull("stack", sample("belts_mosaic.nut"), "-o", "belts.png", "--keep", "40%", "--object", "planet");
  lull("finish", "ground.linear.fits", "-o", "finished.tif", "--detail", "1.5:1.6,3:1.2", "--share", "shared.jpg", "--caption", "Demo");
  fs.copyFileSync(path.join(folder, "finished.finish.html"), path.join(folder, "finished.html"));
  fs.mkdirSync(path.join(folder, hostileFolder));
  fs.copyFileSync(sample("granules.mkv"), path.join(folder, hostileFolder, hostileFile));
  lull("stack", `${hostileFolder}/${hostileFile}`, "-o", "hostile.fits", "--finish", "none");
  for (const name of ["ground", "belts", "hostile", "finished"]) pages[name] = path.join(folder, name + ".html");
  browser = await chromium.launch({
    executablePath: process.env.CHROMIUM || "/usr/bin/chromium",
    // As root, as in containers, Chromium has no sandbox.
    args: ["--disable-dev-shm-usage", ...(process.getuid() === 0 ? ["--no-sandbox"] : [])],
  });
});

after(async () => {
  await browser?.close();
  if (folder) fs.rmSync(folder, { recursive: true });
});

// Opens a report; whatever goes wrong in it is an error of the test.
async function opened(name, options, use) {
  const context = await browser.newContext({ viewport: desk, ...options });
  const wrong = [];
  try {
    const page = await context.newPage();
    page.on("console", (message) => wrong.push(`console: ${message.text()}`));
    page.on("pageerror", (error) => wrong.push(`error: ${error.message}`));
    page.on("request", (request) => {
      if (!request.url().startsWith("data:") && !request.isNavigationRequest()) wrong.push(`request: ${request.url()}`);
    });
    await page.goto(pathToFileURL(pages[name]).href);
    await use(page);
    assert.deepEqual(wrong, []);
  } finally {
    await context.close();
  }
}

async function violations(page) {
  await page.evaluate(axeSource);
  const result = await page.evaluate(() => window.axe.run(document, {
    runOnly: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "best-practice"], resultTypes: ["violations"],
  }));
  return result.violations.map((v) => `${v.id}: ${v.nodes.map((n) => n.html.slice(0, 120)).join(" | ")}`);
}

// What share of the canvas of a chart has the colour of its first series.
const drawnShare = (page, chart) => page.evaluate((id) => {
  const canvas = document.querySelector(`[data-chart="${id}"] canvas`);
  const pixels = canvas.getContext("2d").getImageData(0, 0, canvas.width, canvas.height).data;
  const hex = getComputedStyle(document.documentElement).getPropertyValue("--blue").trim();
  const wanted = [1, 3, 5].map((i) => parseInt(hex.slice(i, i + 2), 16));
  let hits = 0;
  for (let i = 0; i < pixels.length; i += 4)
    if (pixels[i + 3] > 200 && wanted.every((v, c) => Math.abs(pixels[i + c] - v) < 12)) ++hits;
  return hits / (pixels.length / 4);
}, chart);

const zoom = (page) => page.locator(".zoom output").innerText().then((text) => parseInt(text, 10));

describe("every report", () => {
  test("is one file under 5 MB that names no other place", () => {
    for (const file of Object.values(pages)) {
      const text = fs.readFileSync(file, "utf8");
      assert.ok(text.length > 100_000 && fs.statSync(file).size < 5_000_000);
      assert.doesNotMatch(text, /src="(?!data:)/);
      // Links lead to files beside the page: no scheme, no host, no folder of this machine.
      assert.doesNotMatch(text, /href="(?!data:)([a-z]+:|\/)/i);
      assert.match(text, /default-src 'none'/);
    }
  });

  for (const [look, setting] of Object.entries({
    "on a desk, light": { names: ["ground", "belts", "hostile", "finished"] },
    "on a desk, dark": { names: ["ground", "finished"], colorScheme: "dark" },
    "on a telephone, light": { names: ["ground", "hostile", "finished"], viewport: phone, hasTouch: true, isMobile: true, deviceScaleFactor: 2 },
    "on a telephone, dark": { names: ["belts", "finished"], viewport: phone, hasTouch: true, isMobile: true, colorScheme: "dark" },
  })) {
    test(`${look}: loads without errors or requests, fits the width, passes axe-core`, async () => {
      const { names, ...options } = setting;
      for (const name of names) {
        await opened(name, options, async (page) => {
          // Not innerWidth: a telephone makes that as wide as what does not fit.
          assert.ok(await page.evaluate(() => document.documentElement.scrollWidth) <= page.viewportSize().width, name);
          assert.deepEqual(await violations(page), [], name);
        });
      }
    });
  }

  test("leads to the files of the run, whatever they are called", async () => {
    for (const name of ["ground", "hostile", "finished"]) {
      await opened(name, {}, async (page) => {
        const links = await page.locator("td a, th a").evaluateAll((all) => all.map((a) => [a.textContent, a.href]));
        assert.ok(links.length >= 3, `${links}`);
        for (const [text, href] of links) {
          assert.equal(fs.realpathSync(fileURLToPath(href)), fs.realpathSync(path.join(folder, text)));
        }
      });
    }
  });

  test("shows the copy to share and leads to it", async () => {
    await opened("finished", {}, async (page) => {
      const image = page.locator(".shared img");
      assert.ok(await image.evaluate((e) => e.naturalWidth > 200 && e.getBoundingClientRect().width > 200));
      const href = await page.locator(".shared a").evaluate((a) => a.href);
      assert.equal(fileURLToPath(href), path.join(folder, "shared.jpg"));
    });
    await opened("ground", {}, async (page) => assert.equal(await page.locator(".shared").count(), 0));
  });

  test("says what matters first: notes under the picture, options that were chosen, plain words", async () => {
    await opened("ground", {}, async (page) => {
      const top = (selector) => page.locator(selector).first().evaluate((e) => e.getBoundingClientRect().top);
      assert.ok(await top(".stage") < await top(".notes") && await top(".notes") < await top(".figures"));
      assert.match(await page.locator("header").innerText(), /Details of 0\.\d\d\sarcsec and more are real\./);
      const options = page.locator("table.facts tbody th");
      const seen = [];
      for (const option of await options.all()) if (await option.isVisible()) seen.push(await option.innerText());
      assert.deepEqual(seen.filter((name) => name.startsWith("--")), ["--aperture", "--focal-length", "--pixel"]);
      await page.getByText(/^The other \d+ options/).click();
      assert.ok(await page.getByRole("rowheader", { name: "--wavelength" }).isVisible());
    });
  });

  test("shows black and white in the levels, a scale bar in arcseconds or pixels", async () => {
    await opened("ground", {}, async (page) => {
      const data = JSON.parse(await page.locator("#data").textContent());
      assert.deepEqual(data.levels.lines.map((line) => line.name), ["black", "white"]);
      assert.ok(data.levels.lines[0].x < data.levels.lines[1].x);
      // 206265 arcsec a radian (common knowledge of optics): 3 um at 2900 mm.
      const scale = (206265 * 3e-3) / 2900;
      const bar = page.locator(".bar");
      const shown = async () => [parseFloat(await bar.innerText()), (await bar.boundingBox()).width];
      for (const button of ["One pixel to one pixel", "Zoom in"]) {
        await page.getByRole("button", { name: button }).click();
        const [arcsec, px] = await shown();
        assert.match(await bar.innerText(), /″$/);
        assert.ok(Math.abs(arcsec / scale * await zoom(page) / 100 / px - 1) < 0.02);
      }
    });
    await opened("belts", {}, async (page) => assert.match(await page.locator(".bar").innerText(), /^[125]0* px$/));
  });

  test("has powers of ten on a logarithmic axis, and plain numbers on others", async () => {
    await opened("ground", {}, async (page) => {
      // Charts are drawn again when the window changes: what they write on their canvas is noted.
      await page.evaluate(() => {
        window.written = [];
        const { fillText } = CanvasRenderingContext2D.prototype;
        CanvasRenderingContext2D.prototype.fillText = function (words, ...where) {
          const chart = this.canvas.closest("[data-chart]")?.dataset.chart;
          window.written.push([chart, words]);
          return fillText.call(this, words, ...where);
        };
      });
      await page.setViewportSize({ width: desk.width - 100, height: desk.height });
      await page.waitForFunction(() => window.written.some(([chart]) => chart === "levels") && window.written.some(([chart]) => chart === "frc"));
      const written = await page.evaluate(() => window.written);
      const of = (name) => written.filter(([chart]) => chart === name).map(([, words]) => words);
      for (const words of ["100", "1000", "10⁴"]) assert.ok(of("levels").includes(words), words);
      assert.ok(!of("levels").includes("10000"));
      assert.ok(of("frc").every((words) => !words.includes("⁴")));
    });
  });

  test("has tiles and charts that fill their rows", async () => {
    for (const viewport of [desk, phone]) {
      await opened("ground", { viewport }, async (page) => {
        for (const row of [".figures > div", ".charts > figure"]) {
          const full = await page.locator(row).evaluateAll((all) => {
            const right = new Map();
            for (const e of all) {
              const box = e.getBoundingClientRect();
              right.set(Math.round(box.top), Math.max(box.right, right.get(Math.round(box.top)) ?? 0));
            }
            const edge = all[0].parentElement.getBoundingClientRect().right;
            return [...right.values()].every((r) => Math.abs(r - edge) < 1.5);
          });
          assert.ok(full, `${row} at ${viewport.width}`);
        }
      });
    }
  });

  test("draws all its charts, again after a change to dark", async () => {
    for (const name of ["ground", "belts"]) {
      await opened(name, {}, async (page) => {
        for (const scheme of ["light", "dark"]) {
          await page.emulateMedia({ colorScheme: scheme });
          await page.waitForTimeout(50);
          const charts = await page.locator(".draw").evaluateAll((all) => all.map((e) => e.dataset.chart));
          assert.ok(charts.length >= 6);
          for (const chart of charts) {
            const place = page.locator(`[data-chart="${chart}"]`);
            if (await place.locator("svg").count() > 0) {
              assert.ok(await place.locator("svg path").count() >= 3, `${name} ${chart}`);
            } else if (chart === "map") {
              const shades = await place.locator("canvas").evaluate((c) => new Set(c.getContext("2d")
                .getImageData(0, 0, c.width, c.height).data.filter((_, i) => i % 4 === 0)).size);
              assert.ok(shades > 3, `${name} ${shades} shades`);
            } else {
              assert.ok(await drawnShare(page, chart) > 2e-4, `${name} ${chart} ${scheme}`);
            }
          }
        }
      });
    }
  });
});

describe("the picture", () => {
  test("slider and buttons lead from the best frame to the finished picture", async () => {
    await opened("ground", {}, async (page) => {
      const slider = page.locator("#compare");
      // What each picture shows of itself: screenshots may come before a picture is drawn.
      const figures = () => page.locator(".stage figure").evaluateAll((all) => all.map((e) =>
        [getComputedStyle(e).visibility, getComputedStyle(e).clipPath]));
      const at = async (value) => {
        await slider.fill(String(value));
        return figures();
      };
      const sources = await page.locator(".stage figure img").evaluateAll((all) => all.map((e) => e.src));
      assert.equal(new Set(sources).size, 3);
      const [whole, unseen] = [["visible", "none"], ["hidden", "none"]];
      const linear = [unseen, whole, unseen];
      assert.deepEqual(await at(0), [whole, unseen, unseen]);
      assert.deepEqual(await at(100), linear);
      assert.deepEqual(await at(200), [unseen, unseen, whole]);
      assert.deepEqual(await at(150), [unseen, whole, ["visible", "inset(0px 50% 0px 0px)"]]);
      assert.match(await slider.getAttribute("aria-valuetext"), /Finished on the left 50 percent/);
      await page.getByRole("button", { name: "Linear stack" }).click();
      assert.equal(await slider.inputValue(), "100");
      assert.deepEqual(await figures(), linear);
      await slider.focus();
      await page.keyboard.press("ArrowLeft");
      assert.equal(await slider.inputValue(), "99");
    });
  });

  test("is divided in the middle at first, and a handle on it moves the border by pointer and keys", async () => {
    await opened("ground", {}, async (page) => {
      const slider = page.locator("#compare");
      const handle = page.locator(".handle");
      const box = await page.locator(".stage").boundingBox();
      const lineAt = async () => {
        const line = await page.locator(".curtain .line").boundingBox();
        return (line.x + line.width / 2 - box.x) / box.width;
      };
      assert.equal(await slider.inputValue(), "150");
      assert.ok(Math.abs(await lineAt() - 0.5) < 0.01);
      assert.equal(await handle.getAttribute("aria-valuenow"), "50");
      const held = await handle.boundingBox();
      const y = held.y + held.height / 2;
      await page.mouse.move(held.x + held.width / 2, y);
      await page.mouse.down();
      await page.mouse.move(box.x + 0.8 * box.width, y, { steps: 4 });
      assert.equal(await slider.inputValue(), "180");
      assert.ok(Math.abs(await lineAt() - 0.8) < 0.01);
      // Past the end and back: it does not change to another pair of pictures.
      await page.mouse.move(box.x - 40, y, { steps: 4 });
      assert.equal(await slider.inputValue(), "100");
      await page.mouse.move(box.x + 0.25 * box.width, y, { steps: 4 });
      await page.mouse.up();
      assert.equal(await slider.inputValue(), "125");
      assert.match(await handle.getAttribute("aria-valuetext"), /Finished on the left 25 percent/);
      await page.mouse.move(box.x + 0.6 * box.width, y, { steps: 4 });
      assert.equal(await slider.inputValue(), "125");  // let go
      await handle.focus();
      await page.keyboard.press("ArrowRight");
      assert.equal(await slider.inputValue(), "126");
      await page.keyboard.press("PageDown");
      assert.equal(await handle.getAttribute("aria-valuenow"), "16");
      await page.keyboard.press("End");
      assert.equal(await slider.inputValue(), "200");
    });
  });

  test("handle follows a finger, and the page does not scroll", async () => {
    await opened("belts", { viewport: phone, hasTouch: true, isMobile: true }, async (page) => {
      const stage = await page.locator(".stage").boundingBox();
      const held = await page.locator(".handle").boundingBox();
      const [x, y] = [held.x + held.width / 2, held.y + held.height / 2];
      const session = await page.context().newCDPSession(page);
      const touch = (type, at) => session.send("Input.dispatchTouchEvent", {
        type, touchPoints: type === "touchEnd" ? [] : [{ x: at, y, id: 1 }],
      });
      await touch("touchStart", x);
      const to = stage.x + 0.2 * stage.width;
      for (let i = 1; i <= 5; ++i) await touch("touchMove", x + ((to - x) * i) / 5);
      await touch("touchEnd");
      assert.ok(Math.abs(Number(await page.locator(".handle").getAttribute("aria-valuenow")) - 20) <= 1);
      assert.equal(await page.evaluate(() => scrollY), 0);
    });
  });

  // The pixels of a screenshot against those of the decoded picture: all the same at 1:1.
  test("shows one pixel of the picture on one pixel of the screen at 1:1, also where that is smaller", async () => {
    for (const deviceScaleFactor of [1, 2]) {
      await opened("ground", { deviceScaleFactor }, async (page) => {
        const before = await zoom(page);
        await page.locator("#compare").fill("200");
        await page.getByRole("button", { name: "One pixel to one pixel" }).click();
        assert.equal(await zoom(page), 100);
        if (deviceScaleFactor === 1) assert.ok(before > 100);  // a small picture, enlarged to fit
        await page.evaluate(() => scrollTo(0, 0));
        const [size, box] = await page.locator(".stage img").last().evaluate((image) =>
          [[image.naturalWidth, image.naturalHeight], image.getBoundingClientRect().toJSON()]);
        assert.deepEqual([box.width * deviceScaleFactor, box.height * deviceScaleFactor].map(Math.round), size);
        const whole = (value) => Math.abs(value - Math.round(value)) < 1e-3;
        // A strip that neither names nor handle cover.
        const clip = { x: box.x + box.width * 0.6, y: box.y + box.height * 0.3, width: 20, height: 10 };
        clip.x = Math.round(clip.x);
        clip.y = Math.round(clip.y);
        assert.ok(whole(box.x * deviceScaleFactor) && whole(box.y * deviceScaleFactor));
        const taken = (await page.screenshot({ clip })).toString("base64");
        const differ = await page.evaluate(async ([shot, left, top]) => {
          const pixels = async (source, x, y, w, h) => {
            const image = new Image();
            image.src = source;
            await image.decode();
            const canvas = new OffscreenCanvas(w, h);
            canvas.getContext("2d").drawImage(image, -x, -y);
            return [...canvas.getContext("2d").getImageData(0, 0, w, h).data];
          };
          const picture = [...document.querySelectorAll(".stage img")].at(-1).src;
          const [w, h] = [20 * devicePixelRatio, 10 * devicePixelRatio];
          const seen = await pixels("data:image/png;base64," + shot, 0, 0, w, h);
          const counts = [];  // a place between two pixels may be taken as either
          for (const [x, y] of [[0, 0], [-1, 0], [1, 0], [0, -1], [0, 1]]) {
            const there = await pixels(picture, left + x, top + y, w, h);
            counts.push(new Set(there).size > 10 ? seen.filter((value, i) => value !== there[i]).length : Infinity);
          }
          return Math.min(...counts);
        }, [taken, Math.round((clip.x - box.x) * deviceScaleFactor), Math.round((clip.y - box.y) * deviceScaleFactor)]);
        assert.equal(differ, 0, `device scale factor ${deviceScaleFactor}`);
      });
    }
  });

  test("turns clockwise and mirrors what is seen", async () => {
    await opened("ground", {}, async (page) => {
      await page.locator("#compare").fill("200");
      const image = page.locator(".stage img").last();
      const shape = () => image.evaluate((e) => { const b = e.getBoundingClientRect(); return b.width / b.height; });
      // Where a corner of the picture is shown: its upper left one is at (0, 0) of its own axes.
      const corner = () => image.evaluate((e) => {
        const [m, s] = [new DOMMatrix(e.style.transform), e.closest(".stage")];
        return [m.e > s.clientWidth / 2 ? "right" : "left", m.f > s.clientHeight / 2 ? "bottom" : "top"].join(" ");
      });
      const upright = await shape();
      assert.equal(await corner(), "left top");
      await page.getByRole("button", { name: "Turn clockwise" }).click();
      assert.equal(await corner(), "right top");
      assert.ok(Math.abs(await shape() * upright - 1) < 0.02);
      await page.getByRole("button", { name: "Mirror" }).click();
      assert.equal(await corner(), "left top");
      await page.getByRole("button", { name: "Turn clockwise" }).click();
      assert.equal(await corner(), "right top");
      assert.ok(Math.abs(await shape() / upright - 1) < 0.02);
      // All of it is inside of its place.
      const inside = await image.evaluate((e) => {
        const [b, s] = [e.getBoundingClientRect(), e.closest(".stage").getBoundingClientRect()];
        return [b.left - s.left, b.top - s.top, b.right - s.right, b.bottom - s.bottom].every((d) => Math.abs(d) < 1);
      });
      assert.ok(inside);
    });
  });

  test("zooms by wheel, buttons and keys, and lets the page scroll when it cannot get smaller", async () => {
    await opened("ground", {}, async (page) => {
      const fitted = await zoom(page);
      await page.locator(".stage").hover();
      await page.mouse.wheel(0, -400);
      await page.waitForFunction((f) => parseInt(document.querySelector(".zoom output").textContent, 10) > 1.5 * f, fitted);
      await page.locator(".stage").focus();
      const transform = () => page.locator(".stage img").first().evaluate((e) => e.style.transform);
      const before = await transform();
      await page.keyboard.press("ArrowRight");
      assert.notEqual(await transform(), before);
      await page.keyboard.press("0");
      assert.equal(await zoom(page), fitted);
      await page.keyboard.press("+");
      assert.equal(await zoom(page), Math.round(1.25 * fitted));
      await page.getByRole("button", { name: "Fit" }).click();
      await page.getByRole("button", { name: "Zoom in" }).click();
      assert.ok(Math.abs(await zoom(page) - 1.5 * fitted) <= 1);
      await page.getByRole("button", { name: "Fit" }).click();
      await page.locator(".stage").hover();
      await page.mouse.wheel(0, 200);
      await page.waitForFunction(() => scrollY > 0);
    });
  });

  test("zooms by two fingers", async () => {
    await opened("belts", { viewport: phone, hasTouch: true, isMobile: true }, async (page) => {
      const fitted = await zoom(page);
      const box = await page.locator(".stage").boundingBox();
      const [x, y] = [box.x + box.width / 2, box.y + box.height / 2];
      const session = await page.context().newCDPSession(page);
      const touch = (type, spread) => session.send("Input.dispatchTouchEvent", {
        type, touchPoints: type === "touchEnd" ? [] : [{ x: x - spread, y, id: 1 }, { x: x + spread, y, id: 2 }],
      });
      await touch("touchStart", 30);
      for (let spread = 35; spread <= 90; spread += 5) await touch("touchMove", spread);
      await touch("touchEnd");
      assert.ok(await zoom(page) > 1.5 * fitted);
    });
  });
});

describe("charts", () => {
  test("tell their values by keyboard", async () => {
    await opened("ground", {}, async (page) => {
      await page.locator('[data-chart="frc"]').focus();
      for (let i = 0; i < 3; ++i) await page.keyboard.press("ArrowRight");
      const readout = await page.locator("figure:has([data-chart=frc]) .readout").innerText();
      assert.match(readout, /^Spatial frequency, cycles\/px 0\.0\d+: Half stacks (1|0\.9)/);
    });
  });

  test("join the points of a series past those of others, and break a line where there is no value", async () => {
    const whole = fs.readFileSync(pages.ground, "utf8");
    const [before, data, rest] = whole.split(/(?<=id="data">)(.*?)(?=<\/script>)/s);
    const axis = (label) => ({ label, scale: "linear", range: [0, 2] });
    const made = async (between) => {
      const frc = { kind: "plot", x: axis("x"), y: axis("y"), xs: [0, 1, 2], lines: [], series: [
        { name: "a", mark: "line", colour: "blue", side: "left", ys: [1, between, 1] },
        { name: "b", mark: "reference", colour: "soft", side: "left", ys: [false, 0.5, false] }] };
      pages.made = path.join(folder, "made.html");
      fs.writeFileSync(pages.made, before + JSON.stringify({ ...JSON.parse(data), frc }) + rest);
      let share;
      await opened("made", {}, async (page) => { share = await drawnShare(page, "frc"); });
      delete pages.made;
      return share;
    };
    const joined = await made(false);
    assert.ok(joined > 2e-3);
    assert.equal(joined, await made(1));
    assert.equal(await made(null), 0);
  });

  test("lead through the frames when asked", async () => {
    await opened("ground", {}, async (page) => {
      const figure = page.locator("figure:has([data-chart=arrows])");
      const first = await figure.locator("output").innerText();
      await page.waitForTimeout(400);
      assert.equal(await figure.locator("output").innerText(), first);  // nothing moves by itself
      await figure.getByRole("button", { name: "Play" }).click();
      await page.waitForFunction((text) => document.querySelector("figure:has([data-chart=arrows]) output").textContent !== text, first);
      await figure.getByRole("button", { name: "Stop" }).click();
    });
  });

  // WCAG 2.1, success criterion 1.4.11: 3:1 for graphics; relative luminance as defined there.
  test("have lines that stand out of the paper", async () => {
    for (const colorScheme of ["light", "dark"]) {
      await opened("ground", { colorScheme }, async (page) => {
        const ratios = await page.evaluate(() => {
          const style = getComputedStyle(document.documentElement);
          const luminance = (name) => {
            const hex = style.getPropertyValue(name).trim();
            const [r, g, b] = [1, 3, 5].map((i) => parseInt(hex.slice(i, i + 2), 16) / 255)
              .map((c) => (c <= 0.03928 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4));
            return 0.2126 * r + 0.7152 * g + 0.0722 * b;
          };
          const paper = luminance("--paper");
          return ["--blue", "--orange", "--green", "--gray"].map(luminance).map((l) =>
            (Math.max(l, paper) + 0.05) / (Math.min(l, paper) + 0.05));
        });
        for (const ratio of ratios) assert.ok(ratio >= 3, `${colorScheme} ${ratios}`);
      });
    }
  });
});

describe("without what is usual", () => {
  test("without scripts all pictures, figures and tables are there", async () => {
    await opened("ground", { javaScriptEnabled: false }, async (page) => {
      for (const image of await page.locator(".stage img").all()) assert.ok(await image.isVisible());
      assert.ok(await page.locator("figcaption").first().isVisible());
      assert.ok(await page.getByText("--aperture").first().isVisible());
    });
  });

  test("on paper the pictures stand beside each other, without controls", async () => {
    await opened("ground", {}, async (page) => {
      await page.getByRole("button", { name: "Zoom in" }).click();
      await page.emulateMedia({ media: "print" });
      const tops = await page.locator(".stage img").evaluateAll((all) => all.map((e) => e.getBoundingClientRect().top));
      assert.equal(new Set(tops).size, 1);
      for (const image of await page.locator(".stage img").all()) assert.ok(await image.isVisible());
      // Inside of its place, neither zoomed nor moved, whatever the viewer shows.
      const inside = await page.locator(".stage img").evaluateAll((all) => all.every((e) => {
        const [image, stage] = [e, e.closest(".stage")].map((part) => part.getBoundingClientRect());
        return image.left >= stage.left && image.right <= stage.right && image.bottom <= stage.bottom;
      }));
      assert.ok(inside);
      assert.equal(await page.locator(".controls").isVisible(), false);
    });
  });

  test("names that attack are shown as they are, and do nothing", async () => {
    await opened("hostile", {}, async (page) => {
      assert.equal(await page.evaluate(() => window.owned), undefined);
      assert.equal(await page.locator("h1").textContent(), hostileFile);
      const command = await page.locator("pre code").textContent();
      // A shell reads the name back to the same bytes.
      const words = execFileSync("/bin/sh", ["-c", command.replace(/^lull stack /, "printf '%s\\n' ")], { encoding: "utf8" });
      assert.equal(words.split("\n")[0], `${hostileFolder}/${hostileFile}`);
      assert.equal(fs.existsSync(path.join(folder, "owned")), false);
    });
  });
});
