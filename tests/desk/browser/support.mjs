// What the tests of the desk's pages share: a desk over a folder of samples, a browser, pages in
// which nothing may go wrong unseen.
import assert from "node:assert/strict";
import { execFileSync, spawn } from "node:child_process";
import fs from "node:fs";
import { createRequire } from "node:module";
import os from "node:os";
import path from "node:path";

const modules = createRequire(path.join(process.env.LULL_NODE_MODULES, "/"));
const { chromium } = modules("playwright-core");
const axeSource = fs.readFileSync(modules.resolve("axe-core/axe.min.js"), "utf8");

export const wide = { width: 1440, height: 900 };
export const middle = { width: 820, height: 1180 };
export const phone = { width: 390, height: 844 };

export const sample = (name) => path.join(process.env.SAMPLES, name);

/** Runs the program and waits. */
export const lull = (folder, ...words) => execFileSync(process.env.LULL, words, { cwd: folder, stdio: ["ignore", "ignore", "inherit"] });

/** A folder with copies of samples: names to samples. */
export function folderOf(samples) {
  const folder = fs.mkdtempSync(path.join(os.tmpdir(), "lull_desk_"));
  for (const [name, from] of Object.entries(samples)) fs.copyFileSync(sample(from), path.join(folder, name));
  return folder;
}

/** Starts `lull desk` over a folder; the address has its key. */
export async function startDesk(folder, ...options) {
  const child = spawn(process.env.LULL, ["desk", folder, "--no-open", ...options], { stdio: ["ignore", "pipe", "inherit"] });
  const address = await new Promise((resolve, reject) => {
    let text = "";
    child.stdout.on("data", (part) => {
      text += part;
      const found = /http:\/\/\S+\?key=[0-9a-f]+/.exec(text);
      if (found) resolve(found[0]);
    });
    child.on("exit", (status) => reject(new Error(`lull desk ended with status ${status}`)));
  });
  const base = new URL("/", address).href;
  const key = new URL(address).searchParams.get("key");
  const headers = { Authorization: `Bearer ${key}`, "Content-Type": "application/json" };
  const ask = async (where, body) => {
    const answer = await fetch(base + "api/" + where, body === undefined ? { headers } : { method: "POST", headers, body: JSON.stringify(body) });
    assert.ok(answer.ok, `${where}: ${answer.status}`);
    return answer.json();
  };
  const ended = new Promise((resolve) => child.on("exit", resolve));
  return {
    address, base, folder, ask,
    /** The capture of a name, once the desk knows what it is and it is not growing. */
    async capture(name) {
      for (let i = 0; i < 300; ++i) {
        const found = (await ask("captures")).captures.find((capture) => capture.name === name);
        if (found && (found.width || found.error) && !found.growing) return found;
        await new Promise((resolve) => setTimeout(resolve, 100));
      }
      throw new Error(`${name} does not appear`);
    },
    /** Runs a job to its end. */
    async done(body) {
      const { id } = await ask("jobs", body);
      for (let i = 0; i < 1200; ++i) {
        const job = (await ask("jobs")).jobs.find((one) => one.id === id);
        if (!["waiting", "running", "paused"].includes(job.state)) return job;
        await new Promise((resolve) => setTimeout(resolve, 100));
      }
      throw new Error("the job does not end");
    },
    async stop() {
      child.kill("SIGINT");
      await ended;
    },
  };
}

export const startBrowser = () => chromium.launch({
  executablePath: process.env.CHROMIUM || "/usr/bin/chromium",
  // As root, as in containers, Chromium has no sandbox.
  args: ["--disable-dev-shm-usage", ...(process.getuid() === 0 ? ["--no-sandbox"] : [])],
});

/**
 * Opens a view of a desk; whatever goes wrong in it is an error of the test. `allowed` are texts of the
 * console that the test provokes.
 */
export async function opened(browser, desk, hash, options, use) {
  const { light = "dark", allowed = /^$/, ...more } = options;
  const context = await browser.newContext({ viewport: wide, ...more });
  const wrong = [];
  const watch = (page) => {
    page.on("console", (message) => { if (message.type() === "error" && !allowed.test(message.text())) wrong.push(`console: ${message.text()}`); });
    page.on("pageerror", (error) => wrong.push(`error: ${error.message}`));
    page.on("request", (request) => { if (!request.url().startsWith(desk.base) && !request.url().startsWith("blob:")) wrong.push(`request: ${request.url()}`); });
  };
  context.on("page", watch);
  try {
    const page = await context.newPage();
    await page.addInitScript((to) => { if (!localStorage.getItem("lull.light")) localStorage.setItem("lull.light", to); }, light);
    await page.goto(desk.address);
    if (hash) await page.evaluate((to) => { location.hash = to; }, hash);
    await use(page, context);
    assert.deepEqual(wrong, []);
  } finally {
    await context.close();
  }
}

/** What axe-core finds against WCAG 2.2 A and AA. */
export async function violations(page) {
  await page.evaluate(axeSource);
  const result = await page.evaluate(() => window.axe.run(document, {
    runOnly: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"], resultTypes: ["violations"],
  }));
  return result.violations.map((v) => `${v.id}: ${v.nodes.map((n) => n.html.slice(0, 120)).join(" | ")}`);
}

/** The samples of a screenshot or of an element: RGBA. */
export async function pixels(page, what = page) {
  const bytes = await what.screenshot();
  return page.evaluate(async (base64) => {
    const bitmap = await createImageBitmap(new Blob([Uint8Array.from(atob(base64), (c) => c.charCodeAt(0))], { type: "image/png" }));
    const canvas = new OffscreenCanvas(bitmap.width, bitmap.height);
    const context = canvas.getContext("2d");
    context.drawImage(bitmap, 0, 0);
    const data = context.getImageData(0, 0, bitmap.width, bitmap.height).data;
    const most = [0, 0, 0];
    let bright = 0;
    for (let i = 0; i < data.length; i += 4) {
      for (let c = 0; c < 3; ++c) most[c] = Math.max(most[c], data[i + c]);
      if (data[i] > 90) ++bright;
    }
    return { most, bright: bright / (data.length / 4) };
  }, bytes.toString("base64"));
}

/** Brightness of the picture on a stage: 0 where nothing is drawn. */
export const mean = (page, stage = ".stage canvas") => page.locator(stage).first().evaluate((canvas) => {
  const { data } = canvas.getContext("2d").getImageData(0, 0, canvas.width, canvas.height);
  let sum = 0;
  for (let i = 0; i < data.length; i += 4) sum += data[i + 1];
  return sum / (data.length / 4);
});
