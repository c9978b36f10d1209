// What the walk and the pictures share: a browser, a shop that is started and
// stopped, a person signed in, and the automatic check of accessibility.
import { spawn } from 'node:child_process'
import { mkdtemp, readFile, rm } from 'node:fs/promises'
import { createRequire } from 'node:module'
import { tmpdir } from 'node:os'
import path from 'node:path'
import { chromium } from 'playwright-core'

const require = createRequire(import.meta.url)

// openBrowser starts the Chromium that WINTERBENCH_CHROMIUM names.
export function openBrowser() {
  const executablePath = process.env.WINTERBENCH_CHROMIUM || '/usr/bin/chromium'
  return chromium.launch({
    executablePath,
    args: ['--no-sandbox', '--disable-gpu', '--disable-quic', '--no-first-run', '--disable-background-networking',
      '--disable-component-update', '--disable-sync'],
  })
}

// sizes of window that every page must serve.
export const sizes = {
  desktop: { width: 1280, height: 900 },
  phone: { width: 390, height: 844 },
}

// startDemo starts the program with the invented shop in a folder of its own
// and returns its address, who may sign in, and how to stop it.
export async function startDemo(program) {
  const folder = await mkdtemp(path.join(tmpdir(), 'winterbench-'))
  const child = spawn(program, ['serve', '--demo', '--listen', '127.0.0.1:0', '--database', path.join(folder, 'demo.db')], { stdio: ['ignore', 'pipe', 'inherit'] })
  const said = await new Promise((resolve, reject) => {
    let text = ''
    child.on('exit', (code) => reject(new Error(`the program ended with ${code}:\n${text}`)))
    child.stdout.on('data', (chunk) => {
      text += chunk
      if (text.includes('Stop it with')) resolve(text)
    })
  })
  const people = [...said.matchAll(/^ {2}(\S.*?) {2,}(\S.*?) {2,}(\S.*)$/gm)].map(([, name, password, roles]) => ({ name, password, roles: roles.split(', ') }))
  return {
    address: said.match(/http:\/\/\S+/)[0],
    people,
    async stop() {
      child.removeAllListeners('exit')
      const ended = new Promise((resolve) => child.on('exit', resolve))
      child.kill('SIGTERM')
      await ended
      await rm(folder, { recursive: true, force: true })
    },
  }
}

// signIn opens a page as a person.
export async function signIn(browser, address, person, options = {}) {
  const context = await browser.newContext({ baseURL: address, viewport: sizes.desktop, bypassCSP: true, ...options })
  const page = await context.newPage()
  page.setDefaultTimeout(10_000)
  page.on('pageerror', (error) => { throw error })
  await page.goto('/sign-in')
  await page.getByLabel('Your name').fill(person.name)
  await page.getByLabel('Password').fill(person.password)
  await page.getByRole('button', { name: 'Sign in' }).click()
  await page.waitForURL((url) => !url.pathname.startsWith('/sign-in'))
  return page
}

let axe

// checkAccess runs the accessibility rules of WCAG 2.0 to 2.2, levels A and AA,
// over a page and throws what they find.
export async function checkAccess(page) {
  axe ??= await readFile(require.resolve('axe-core/axe.min.js'), 'utf8')
  await page.evaluate(axe)
  const found = await page.evaluate(() => globalThis.axe.run(document, { runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa'] }))
  if (found.violations.length > 0) {
    const lines = found.violations.map((v) => `${v.id}: ${v.help}: ${v.nodes.map((n) => n.html.slice(0, 160)).join(' | ')}`)
    throw new Error(`${page.url()} breaks accessibility rules:\n${lines.join('\n')}`)
  }
  const wide = await page.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth)
  if (wide > 0) throw new Error(`${page.url()} is ${wide} px wider than the window`)
}
