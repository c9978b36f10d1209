// Writes pictures of every page: node screens.mjs PROGRAM FOLDER. It starts the
// invented shop, signs in as each person and opens what that person can open,
// on a desktop, on a phone, on dark paper and in print.
import { mkdir } from 'node:fs/promises'
import path from 'node:path'
import { checkAccess, openBrowser, signIn, sizes, startDemo } from './shop.mjs'

const [program, folder] = process.argv.slice(2)
await mkdir(folder, { recursive: true })

// firstLink finds the first link on a page that fits a pattern.
async function firstLink(page, at, pattern) {
  const answer = await page.goto(at)
  if (!answer || answer.status() >= 400) return null
  const hrefs = await page.locator('main a').evaluateAll((links) => links.map((a) => a.getAttribute('href')))
  return hrefs.find((href) => href && pattern.test(href)) ?? null
}

// firstPhoto finds an open job with a photo, and the photo.
async function firstPhoto(page) {
  for (const stage of ['surveyed', 'quoted', 'approved', 'in hold', 'on the bench', 'waiting', 'ready']) {
    await page.goto(`/jobs?stage=${encodeURIComponent(stage)}`)
    const jobs = await page.locator('main a').evaluateAll((links) => links.map((a) => a.getAttribute('href')).filter((href) => /^\/jobs\/\d+$/.test(href)))
    for (const job of new Set(jobs)) {
      const at = await firstLink(page, job, /^\/photos\/\d+$/)
      if (at) return { job, at }
    }
  }
  return null
}

// counterPages and the others list names with paths; null is left out.
async function counterPages(page) {
  const job = (stage) => firstLink(page, `/jobs?stage=${encodeURIComponent(stage)}`, /^\/jobs\/\d+$/)
  const [arrived, surveyed, quoted, ready, bench] = [await job('arrived'), await job('surveyed'), await job('quoted'), await job('ready'), await job('on the bench')]
  const photo = await firstPhoto(page)
  const customer = await firstLink(page, '/customers', /^\/customers\/\d+$/)
  const instrument = customer && await firstLink(page, customer, /^\/instruments\/\d+$/)
  const seen = surveyed && await firstLink(page, surveyed, /^\/jobs\/\d+\/surveys\/\d+$/)
  const quote = quoted && await firstLink(page, quoted, /^\/quotes\/\d+$/)
  return {
    desk: '/counter', queue: '/queue', search: '/search?q=spruce', 'search-name': '/search?q=an', customers: '/customers', customer, instrument,
    'new-customer': '/customers/new', arrive: '/arrive', 'arrive-instrument': instrument && `/arrive?customer=${customer.split('/')[2]}&instrument=${instrument.split('/')[2]}`,
    'job-arrived': arrived, survey: arrived && `${arrived}/survey`, 'job-surveyed': surveyed, 'survey-again': surveyed && `${surveyed}/survey`, 'survey-seen': seen, 'quote-builder': surveyed && `${surveyed}/quote`,
    'job-quoted': quoted, quote, 'job-bench': bench, 'job-ready': ready, money: ready && `${ready}/money`, 'hand-over': ready && `${ready}/hand-over`,
    photos: photo && `${photo.job}/photos`, photo: photo && photo.at, 'job-photos': photo && photo.job,
    'jobs-collected': '/jobs?stage=collected', nowhere: '/nowhere',
  }
}

async function benchPages(page) {
  const task = await firstLink(page, '/bench', /^\/jobs\/\d+\/tasks\/\d+$/)
  const hold = await firstLink(page, '/cabinet', /^\/jobs\/\d+\/holds\/\d+$/)
  const holds = await page.locator('.reading .acts a').evaluateAll((links) => links.map((a) => a.getAttribute('href')))
  const airPlace = await firstLink(page, '/air', /^\/air\/readings\?place=\d+$/)
  const meter = await firstLink(page, '/meters', /^\/meters\/\d+$/)
  return { bench: '/bench', task, cabinet: '/cabinet', air: '/air', 'air-readings': airPlace, 'air-import': '/air/import', meters: '/meters', meter, round: '/cabinet/round', hold, 'hold-last': holds.at(-1), 'hold-third': holds[2], templates: '/templates', template: '/templates/CG' }
}

async function ownerPages(page) {
  const invoice = await firstLink(page, '/invoices', /^\/invoices\/\d+$/)
  const airPlace = await firstLink(page, '/air/places', /^\/air\/places\/\d+$/)
  const part = await firstLink(page, '/parts', /^\/parts\/\d+$/)
  const person = await firstLink(page, '/staff', /^\/staff\/\d+$/)
  return {
    owner: '/owner', settings: '/settings', 'air-places': '/air/places', 'air-place': airPlace, 'hold-rule': '/settings/holds', bands: '/settings/bands', calendar: '/settings/calendar', staff: '/staff', person, parts: '/parts', part, invoices: '/invoices', invoice, tokens: '/tokens',
    'template-edit': '/templates/CG', 'template-new': '/templates/new',
  }
}

const listers = { counter: counterPages, bench: benchPages, owner: ownerPages }
const looks = {
  desktop: { viewport: sizes.desktop },
  phone: { viewport: sizes.phone, hasTouch: true },
  dark: { viewport: sizes.desktop, colorScheme: 'dark' },
  print: { viewport: { width: 794, height: 1123 } },
}

const shop = await startDemo(program)
const browser = await openBrowser()
const faults = []
let pictures = 0
try {
  for (const [role, list] of Object.entries(listers)) {
    const person = shop.people.find((p) => p.roles.includes(role))
    let paths
    for (const [look, options] of Object.entries(looks)) {
      const page = await signIn(browser, shop.address, person, options)
      paths ??= await list(page)
      if (look === 'print') await page.emulateMedia({ media: 'print' })
      for (const [name, at] of Object.entries(paths)) {
        if (!at) {
          if (look === 'desktop') faults.push(`${role}: no page found for ${name}`)
          continue
        }
        await page.goto(at)
        if (look !== 'print') await checkAccess(page).catch((error) => faults.push(`${look}: ${error.message}`))
        await page.screenshot({ path: path.join(folder, `${role}-${name}-${look}.png`), fullPage: true })
        pictures++
      }
      await page.context().close()
    }
  }
} finally {
  await browser.close()
  await shop.stop()
}
console.log(`${pictures} pictures in ${folder}`)
if (faults.length > 0) {
  console.error(faults.join('\n'))
  process.exit(1)
}
