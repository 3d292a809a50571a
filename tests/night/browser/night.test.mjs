// The page of a night in headless Chromium: it loads without errors or requests, fits, sorts and
// filters by mouse and keyboard, leads to the reports, and passes axe-core (WCAG 2.1 A, AA).
// Usage: LULL=program SAMPLES=folder LULL_NODE_MODULES=folder node --test night.test.mjs
import assert from "node:assert/strict";
import { spawnSync } from "node:child_process";
import fs from "node:fs";
import { createRequire } from "node:module";
import os from "node:os";
import path from "node:path";
import { after, before, test } from "node:test";
import { pathToFileURL } from "node:url";

const modules = createRequire(path.join(process.env.LULL_NODE_MODULES, "/"));
const { chromium } = modules("playwright-core");
const axeSource = fs.readFileSync(modules.resolve("axe-core/axe.min.js"), "utf8");

// A name that closes tags and scripts, and turns the direction of text.
const hostile = "moon<script>window.owned=1<\u202e\"' onerror=\"window.owned=1\".ser";

let folder;
let browser;
let address;

const lull = (...words) => spawnSync(process.env.LULL, words, { cwd: folder, encoding: "utf8" });

before(async () => {
  folder = fs.mkdtempSync(path.join(os.tmpdir(), "lull_night_"));
  fs.mkdirSync(path.join(folder, "in"));
  const copy = (sample, name) =>
    fs.copyFileSync(path.join(process.env.SAMPLES, sample), path.join(folder, "in", name));
  copy("granules.mkv", "sun_R.mkv");
  copy("telephone.mp4", "moon_G.mp4");
  // The identifier of a SER file, and nothing after it.
  const identifier = fs.readFileSync(path.join(process.env.SAMPLES, "ringed_faint.ser")).subarray(0, 14);
  fs.writeFileSync(path.join(folder, "in", hostile), identifier);
  assert.equal(lull("night", "in", "-o", "out", "--quiet").status, 4);
  // Captures of samples have no dates, which the courses need; and one that failed on the way.
  const state = path.join(folder, "out/night/state");
  for (const [name, minute] of [["sun_R", 10], ["moon_G", 50]]) {
    const file = path.join(state, `${name}.json`);
    const record = JSON.parse(fs.readFileSync(file, "utf8"));
    record.when = `2026-03-01T20:${minute}:00Z`;
    fs.writeFileSync(file, JSON.stringify(record));
    if (name !== "sun_R") continue;
    Object.assign(record, { name: hostile, state: "failed", problem: hostile, remedy: "copy it again", object: "" });
    fs.writeFileSync(path.join(state, "failed.json"), JSON.stringify(record));
  }
  // The plan knows no such picture, and would leave it out.
  fs.rmSync(path.join(folder, "out/night/plan.json"));
  assert.equal(lull("night", "--gather", "-o", "out", "--quiet").status, 4);
  address = pathToFileURL(path.join(folder, "out/night.html")).href;
  browser = await chromium.launch({
    executablePath: process.env.CHROMIUM || "/usr/bin/chromium",
    args: ["--disable-dev-shm-usage", ...(process.getuid() === 0 ? ["--no-sandbox"] : [])],
  });
});

after(async () => {
  await browser?.close();
  if (folder) fs.rmSync(folder, { recursive: true });
});

async function opened(options, use) {
  const context = await browser.newContext({ viewport: { width: 1280, height: 900 }, ...options });
  const wrong = [];
  try {
    const page = await context.newPage();
    page.on("console", (message) => wrong.push(`console: ${message.text()}`));
    page.on("pageerror", (error) => wrong.push(`error: ${error.message}`));
    page.on("request", (request) => {
      if (!request.url().startsWith("data:") && !request.isNavigationRequest()) wrong.push(`request: ${request.url()}`);
    });
    await page.goto(address);
    await use(page);
    assert.equal(await page.evaluate(() => window.owned), undefined);
    assert.deepEqual(wrong, []);
  } finally {
    await context.close();
  }
}

for (const [look, options] of Object.entries({
  "on a desk, light": {},
  "on a desk, dark": { colorScheme: "dark" },
  "on a telephone": { viewport: { width: 390, height: 844 }, hasTouch: true, isMobile: true },
})) {
  test(`${look}: no errors, no requests, fits, passes axe-core`, async () => {
    await opened(options, async (page) => {
      assert.ok(await page.evaluate(() => document.documentElement.scrollWidth) <= page.viewportSize().width);
      await page.evaluate(axeSource);
      const result = await page.evaluate(() => window.axe.run(document, {
        runOnly: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "best-practice"], resultTypes: ["violations"],
      }));
      assert.deepEqual(result.violations.map((v) => `${v.id}: ${v.nodes.map((n) => n.html.slice(0, 120)).join(" | ")}`), []);
    });
  });
}

test("pictures are sorted and filtered, and lead to their reports", async () => {
  await opened({}, async (page) => {
    const names = () => page.locator(".sheet li:visible h3").allInnerTexts();
    assert.deepEqual((await names()).slice(0, 2).map((name) => name.includes("moon_G")), [false, false]);
    await page.getByLabel("Order").selectOption("name");
    assert.ok((await names())[0].includes("moon_G") || (await names())[0].includes("moon<"));
    await page.getByLabel("Show").selectOption("sun");
    assert.deepEqual(await names(), ["sun_R"]);
    assert.equal(await page.locator(".sort output").innerText(), "1 of 3 shown");
    await page.getByLabel("Show").selectOption("failed");
    assert.match((await names())[0], /^moon<script>/);
    await page.getByLabel("Show").selectOption("");
    await page.getByLabel("Words").fill("moon_g");
    assert.deepEqual(await names(), ["moon_G"]);
    await page.getByRole("heading", { name: "moon_G" }).getByRole("link").click();
    assert.match(page.url(), /\/out\/moon_G\.html$/);
  });
});

test("points of a course lead to their pictures, by keyboard too", async () => {
  await opened({}, async (page) => {
    const point = page.getByRole("link", { name: /^sun_R: .* 20:10 UTC$/ }).first();
    await point.focus();
    await page.keyboard.press("Enter");
    assert.equal(await page.locator(".sheet li:target h3").innerText(), "sun_R");
  });
});

test("without scripts all pictures are there, and no form", async () => {
  const context = await browser.newContext({ javaScriptEnabled: false });
  const page = await context.newPage();
  await page.goto(address);
  assert.equal(await page.locator(".sheet li").count(), 3);
  assert.equal(await page.locator(".sort").isVisible(), false);
  await context.close();
});
