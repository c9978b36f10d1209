// The walk of a day in a real browser: an empty shop is opened, and a cracked
// guitar goes from the counter's first question to the paid invoice and out of
// the door; a set of strings is sold over the counter and comes back. WINTERBENCH_ADDRESS is a shop that is still empty, WINTERBENCH_CODE
// the code that it printed.
//
// node walk.mjs; any fault ends it with an error that says where it stood.
import assert from 'node:assert/strict'
import { checkAccess, openBrowser, signIn, sizes } from './shop.mjs'

const address = process.env.WINTERBENCH_ADDRESS
const code = process.env.WINTERBENCH_CODE
assert.ok(address && code, 'WINTERBENCH_ADDRESS or WINTERBENCH_CODE is missing')

const owner = { name: 'Tove Hallgrim', password: 'snow lies on the roof' }
const bench = { name: 'Runa Vik', password: 'hide glue at sixty' }

let where = 'at the door'
let steps = 0
const step = async (name, fn) => {
  where = name
  await fn()
  steps++
}

// set fills or chooses the field of a name, within a form when one is given.
async function set(scope, name, value) {
  const field = scope.locator(`[name="${name}"]:visible`).first()
  const tag = await field.evaluate((node) => node.tagName + ':' + node.type)
  if (tag.startsWith('SELECT')) await field.selectOption(value)
  else if (tag.endsWith(':checkbox')) await field.setChecked(value)
  else if (tag.endsWith(':radio')) await scope.locator(`[name="${name}"][value="${value}"]`).check()
  else await field.fill(value)
}

const press = (scope, name) => scope.getByRole('button', { name }).first().click()
const formAt = (page, path) => page.locator(`form[action="${path}"]`)
const answer = (page) => page.locator('#answer').innerText()
const open = async (page, summary) => {
  const details = page.locator('details', { has: page.locator('summary', { hasText: summary }) }).first()
  if (!(await details.evaluate((node) => node.open))) await details.locator('summary').click()
}

async function firstSettings(page) {
  await page.goto('/')
  assert.match(page.url(), /\/first$/)
  await checkAccess(page)
  await set(page, 'name', 'Frost & Fret')
  await set(page, 'zone', 'Europe/Helsinki')
  await set(page, 'currency', 'CAD')
  await set(page, 'rate', '84.00')
  await set(page, 'profile', '3')
  await set(page, 'code', code)
  await set(page, 'owner', owner.name)
  await set(page, 'password', owner.password)
  await press(page.locator('main'), /open the shop/i)
  await page.waitForURL((url) => !url.pathname.startsWith('/first'))
}

async function hireBench(page) {
  await page.goto('/staff')
  const form = formAt(page, '/staff')
  await set(form, 'name', bench.name)
  await set(form, 'role_bench', true)
  await set(form, 'password', bench.password)
  await press(form, 'Add the person')
  await page.getByText(`${bench.name} is on the list`).waitFor()
}

async function priceStrings(page) {
  await page.goto('/parts')
  await page.locator('main a', { hasText: 'strings' }).first().click()
  await set(page.locator('main'), 'price', '14.50')
  await press(page.locator('main'), 'Save')
  await page.getByText('Saved.').waitFor()
}

async function arrive(page) {
  await page.goto('/arrive')
  await checkAccess(page)
  await page.getByRole('link', { name: /new customer|add a customer|somebody new/i }).first().click()
  const main = page.locator('main')
  await set(main, 'name', 'M. Oduya <b>bold</b>')
  await set(main, 'phone', '555-0142')
  await press(main, /keep|save|add/i)
  await page.waitForURL((url) => url.search.includes('customer='))
  await page.getByRole('link', { name: /new instrument|add an instrument|another instrument/i }).first().click()
  await set(main, 'kind', 'steel-string guitar')
  await set(main, 'maker', 'Orrin')
  await set(main, 'model', 'No. 3')
  await set(main, 'serial', '1187')
  await press(main, /keep|save|add/i)
  await page.waitForURL((url) => url.search.includes('instrument='))
  await set(main, 'complaint', 'A crack since the heating is on.')
  await press(main, /take it in/i)
  await page.waitForURL(/\/jobs\/\d+$/)
  assert.match(await answer(page), /not surveyed yet|still closed/)
  assert.match(await page.content(), /M\. Oduya &lt;b&gt;bold&lt;\/b&gt;/, 'HTML in a name must come back as text')
  return new URL(page.url()).pathname
}


async function survey(page, job) {
  await page.goto(`${job}/survey`)
  await checkAccess(page)
  const main = page.locator('main')
  await set(main, 'moment', 'before hold')
  await set(main, 'strings', 'slack')
  await set(main, 'case_rh', '27 %')
  const crack = page.getByRole('group', { name: 'crack', exact: true })
  await set(crack, 'findings[10].place', 'treble lower bout')
  await set(crack, 'findings[10].measure', '60 mm')
  await set(crack, 'findings[10].causes[0].what', 'dryness')
  await set(crack, 'findings[10].causes[0].sure', 'likely')
  await crack.locator('summary').click()
  await set(crack, 'findings[10].detail.closes', 'yes')
  await crack.getByText('is 30 to 80: moderate').waitFor() // worked out while it was typed
  assert.match(await answer(page), /2 independent signs agree/)
  await press(main, 'One more sign')
  await set(main, 'findings[11].measure', '30 mm')
  assert.equal(await crack.locator('[name="findings[10].measure"]').inputValue(), '60 mm', 'one more sign keeps what was typed')
  await set(main, 'findings[11].measure', '')
  await checkAccess(page)
  await press(main, /keep the survey/i)
  await page.waitForURL(new RegExp(`${job}$`))
  assert.match(await answer(page), /no quote said yet/)
}

// addTask adds a task with its parts to the sheet.
async function addTask(page, code, quantity) {
  await set(page.locator('main'), 'add_task', code)
  await set(page.locator('main'), 'add_quantity', quantity)
  await set(page.locator('main'), 'with_parts', true)
  const before = await page.locator('.plan-row').count()
  await press(page.locator('main'), 'Add the task')
  await page.waitForFunction((n) => document.querySelectorAll('.plan-row').length > n, before)
}

async function quote(page, job) {
  await page.goto(`${job}/quote`)
  await checkAccess(page)
  for (const [code, quantity] of [['RH', ''], ['CG', '60'], ['CC', '2'], ['SU', '']]) await addTask(page, code, quantity)
  const total = page.locator('#total')
  const first = await total.innerText()
  // The total follows what is typed, without a button.
  await page.getByRole('group', { name: /Crack clean/ }).locator('input[name$=".quantity"]').fill('120')
  await page.waitForFunction((was) => document.querySelector('#total').innerText !== was, first)
  await page.getByRole('group', { name: /Crack clean/ }).locator('input[name$=".quantity"]').fill('60')
  await page.waitForFunction((was) => document.querySelector('#total').innerText === was, first)
  await checkAccess(page)
  await press(page.locator('main'), /Keep version 1/)
  await page.waitForURL(/\/quotes\/\d+$/)
  await press(page.locator('main'), 'It is said to the customer')
  await page.getByRole('heading', { name: 'Their answer' }).waitFor()
  await checkAccess(page)
  const main = page.locator('main')
  await set(main, 'outcome', 'whole')
  await set(main, 'who', 'M. Oduya')
  await set(main, 'channel', 'phone')
  await press(main, 'Record the answer')
  await page.waitForURL((url) => !url.pathname.endsWith('/answer'))
  await page.goto(job)
  assert.match(await answer(page), /Approved/)
}

// pay fills the first money form of the page.
async function pay(page, job, tender, amount) {
  await page.goto(`${job}/money`)
  await checkAccess(page)
  const form = page.locator('form', { has: page.locator('[name="pay_tender"]') }).first()
  await set(form, 'pay_tender', tender)
  if (amount) await set(form, 'pay_amount', amount)
  await form.locator('button[type="submit"]').first().click()
  await page.waitForLoadState()
}

// passChecks notes a pass for every check of the task page.
async function passChecks(page, path) {
  await page.goto(path)
  // Counted on a page that is loaded to its end: the message of the last result
  // stands at the top, and may be there before the forms below it are.
  const checks = await formAt(page, `${path}/check`).count()
  for (let i = 0; i < checks; i++) {
    await page.goto(path)
    const form = formAt(page, `${path}/check`).nth(i)
    await form.locator('xpath=ancestor::details').locator('summary').click()
    await set(form, 'result', 'pass')
    await press(form, 'Keep the result')
    await page.getByText('The check is noted.').waitFor()
  }
}

const taskPath = async (page, job, name) => {
  await page.goto(job)
  return page.locator(`main a[href^="${job}/tasks/"]`, { hasText: name }).first().getAttribute('href')
}

// hold reads twice within seconds, which is no measurement: the bench sees why
// it cannot be released, and the owner makes an exception.
async function hold(page, chief, job) {
  const path = await taskPath(page, job, /hold/i)
  await page.goto(path)
  await checkAccess(page)
  await set(page.locator('main'), 'place', 'place 1')
  await press(page.locator('main'), 'Start the hold')
  await page.getByText('The hold runs.').waitFor()
  await page.getByRole('link', { name: 'Note a reading' }).click()
  await checkAccess(page)
  const at = new URL(page.url()).pathname
  // Nonsense comes back as typed, with its reason.
  await set(page.locator('main'), 'rh', '140 %')
  await press(page.locator('main'), 'Note the reading')
  await page.locator('[data-problems]').getByText('from 0 to 100').waitFor()
  assert.equal(await page.locator('[name="rh"]').inputValue(), '140 %')
  for (const [rh, gap] of [['38 %', '0.25 mm'], ['45 %', '0.1']]) {
    await page.goto(at)
    await set(page.locator('main'), 'rh', rh)
    await set(page.locator('main'), 'gap', gap)
    await press(page.locator('main'), 'Note the reading')
    await page.getByText('The reading is noted.').waitFor()
  }
  await page.goto('/cabinet/round')
  await checkAccess(page)
  const row = page.getByRole('group', { name: /place 1/ })
  await row.getByLabel('Air').fill('46')
  await row.getByLabel('Weight').fill('heavy')
  await press(page.locator('main'), 'Keep the readings')
  await page.locator('[data-problems]').getByText('is no measure').waitFor()
  assert.equal(await row.getByLabel('Air').inputValue(), '46')
  await row.getByLabel('Weight').fill('2165')
  await press(page.locator('main'), 'Keep the readings')
  await page.getByText('1 reading is noted.').waitFor()
  await checkAccess(page)
  await page.goto(at)
  await checkAccess(page)
  assert.match(await answer(page), /not steady yet|still drinking/)
  assert.equal(await page.locator('[name="end_reason"][value="steady by measurement"]').count(), 0)
  assert.match(await page.locator('.not-yet').innerText(), /steady by measurement: the readings do not say so[\s\S]*only the owner/)
  await chief.goto(at)
  await set(chief.locator('main'), 'end_reason', "owner's exception")
  await press(chief.locator('main'), 'End the hold')
  await chief.locator('[data-problems]').getByText('is needed').waitFor()
  await set(chief.locator('main'), 'end_note', 'wanted on the stage tonight')
  await press(chief.locator('main'), 'End the hold')
  await chief.waitForURL(new RegExp(`${job}$`))
  await page.goto(path) // the end of the hold has finished its task
  assert.match(await answer(page), /Finished by/)
  await passChecks(page, path)
}

async function work(page, job, name, part) {
  const path = await taskPath(page, job, name)
  await page.goto(path)
  await press(page.locator('main'), 'Start the clock')
  await page.getByText('Your clock runs.').waitFor()
  await checkAccess(page)
  if (part) {
    await open(page, 'Note a part')
    const form = formAt(page, `${path}/part`).last()
    await form.locator('[name="part"]').selectOption({ label: await form.locator('[name="part"] option', { hasText: part }).first().innerText() })
    await press(form, 'Note the part')
    await page.getByText('The part is noted.').waitFor()
  }
  await press(page.locator('main'), 'Stop the clock')
  await page.getByText('Your clock is stopped.').waitFor()
  await press(page.locator('main'), 'Finished')
  await page.getByText('Finished.').first().waitFor()
  await passChecks(page, path)
}

async function check(page, job) {
  await page.goto(job)
  await press(page.locator('main'), 'Pass the quality check')
  await page.waitForFunction(() => document.querySelector('#answer').innerText.includes('Every check is through'))
}

async function bill(page, job) {
  await page.goto(`${job}/money`)
  await checkAccess(page)
  await press(page.locator('main'), 'Issue the invoice')
  await page.waitForLoadState()
  await page.goto(`${job}/money`)
  assert.equal(await page.getByRole('button', { name: 'Issue the invoice' }).count(), 0, 'one job has one invoice')
  const paper = page.locator('main a[href$=".pdf"]').first()
  const response = await page.request.get(await paper.getAttribute('href'))
  assert.equal(response.headers()['content-type'], 'application/pdf')
}

async function call(page, job) {
  await page.goto(job)
  await open(page, 'Note a call')
  const main = page.locator('main')
  await set(main, 'call_about', 'ready')
  await set(main, 'call_result', 'spoke')
  await main.locator('form', { has: page.locator('[name="call_about"]') }).locator('button').click()
  await page.waitForFunction(() => document.querySelector('#answer').innerText.includes('Ready since'))
}

async function handOver(page, job) {
  await page.goto(`${job}/hand-over`)
  await checkAccess(page)
  const main = page.locator('main')
  await set(main, 'tag_shown', true)
  await set(main, 'to', 'M. Oduya')
  await set(main, 'brief', true)
  await press(main, /hand it over/i)
  await page.waitForURL((url) => !url.pathname.endsWith('/hand-over'))
  await page.goto(job)
  assert.match(await answer(page), /Collected by M\. Oduya/)
}

// sell sells a set of strings and something that is not on the list for cash: the
// sum and the change are there before anything is kept.
async function sell(page) {
  await page.goto('/counter')
  await page.getByRole('link', { name: 'Sell something' }).click()
  await page.waitForURL((url) => url.pathname === '/sales/new')
  await checkAccess(page)
  const main = page.locator('main')
  const strings = await main.locator('[name="lines[0].part"] option', { hasText: 'strings' }).first().getAttribute('value')
  await set(main, 'lines[0].part', strings)
  await set(main, 'lines[40].name', 'Old capo')
  await set(main, 'lines[40].price', '5.50')
  await set(main, 'payments[0].given', '100')
  await main.locator('#sum', { hasText: 'Change' }).waitFor()
  await press(main, 'Sell')
  await page.waitForURL((url) => /^\/sales\/\d+$/.test(url.pathname))
  await checkAccess(page)
  assert.match(await answer(page), /is paid/)
  assert.match(await main.innerText(), /given 100.00 CAD, change \d/)
  return new URL(page.url()).pathname
}

// takeBack takes the capo back with the keyboard alone.
async function takeBack(page, sale) {
  await page.goto(`${sale}/take-back`)
  await checkAccess(page)
  await page.locator('[name="lines[1].count"]').focus()
  await page.keyboard.type('1')
  await page.locator('[name="reason"]').focus()
  await page.keyboard.type('does not fit')
  await page.keyboard.press('Enter')
  await page.waitForURL((url) => /^\/credit-notes\/\d+$/.test(url.pathname))
  await checkAccess(page)
  assert.match(await answer(page), /Nothing is owed|is credited/)
}

// withoutScript opens a page with scripts off and sends a form the plain way.
async function withoutScript(browser, job) {
  const page = await signIn(browser, address, owner, { javaScriptEnabled: false, bypassCSP: false })
  await page.goto(`${job}/quote`)
  assert.ok(await page.locator('#sheet, .empty, .lead').count() > 0)
  await page.goto('/customers')
  await page.locator('[name="q"]').first().fill('oduya')
  await page.getByRole('button', { name: 'Find' }).first().click()
  await page.getByText('M. Oduya').first().waitFor()
  await page.context().close()
}

// byKeyboard signs in and opens a page with the keyboard alone.
async function byKeyboard(browser) {
  const page = await signIn(browser, address, bench)
  await page.keyboard.press('Tab')
  assert.equal(await page.evaluate(() => document.activeElement.textContent), 'Skip to the page')
  await page.keyboard.press('Enter')
  await page.keyboard.press('/')
  assert.equal(await page.evaluate(() => document.activeElement.id), 'search')
  await page.keyboard.type('1187')
  await page.keyboard.press('Enter')
  await page.getByText('Orrin').first().waitFor()
  await page.context().close()
}

// onAPhone opens pages in a phone's window; none may be wider than it.
async function onAPhone(browser, job) {
  const page = await signIn(browser, address, owner, { viewport: sizes.phone, colorScheme: 'dark' })
  for (const at of ['/counter', '/bench', '/owner', '/cabinet', '/cabinet/round', '/settings/holds', '/customers', '/sales', '/sales/new', job, `${job}/money`, '/templates', '/settings']) {
    await page.goto(at)
    await checkAccess(page)
  }
  await page.context().close()
}

const browser = await openBrowser()
try {
  const context = await browser.newContext({ baseURL: address, viewport: sizes.desktop, bypassCSP: true })
  const first = await context.newPage()
  await step('first settings', () => firstSettings(first))
  await context.close()
  const page = await signIn(browser, address, owner)
  await step('hire', () => hireBench(page))
  await step('price of strings', () => priceStrings(page))
  let job
  await step('arrival', async () => { job = await arrive(page) })
  const hands = await signIn(browser, address, bench)
  await step('survey', () => survey(hands, job))
  await step('quote', () => quote(page, job))
  await step('deposit', () => pay(page, job, 'card', '50.00'))
  await step('hold', () => hold(hands, page, job))
  await step('crack', () => work(hands, job, /Crack clean/))
  await step('cleats', () => work(hands, job, /leat/))
  await step('set-up', () => work(hands, job, /et-up/, 'strings'))
  await step('quality check', () => check(hands, job))
  await step('ready call', () => call(page, job))
  await step('invoice', () => bill(page, job))
  await step('card', () => pay(page, job, 'card', '20.00'))
  await step('cash', () => pay(page, job, 'cash', ''))
  await step('hand-over', () => handOver(page, job))
  let sale
  await step('sale', async () => { sale = await sell(page) })
  await step('taken back', () => takeBack(page, sale))
  await step('without the script', () => withoutScript(browser, job))
  await step('by keyboard', () => byKeyboard(browser))
  await step('on a phone', () => onAPhone(browser, job))
  console.log(`walked ${steps} steps`)
} catch (error) {
  const picture = process.env.WINTERBENCH_PICTURE
  if (picture) {
    const pages = browser.contexts().flatMap((c) => c.pages())
    await Promise.all(pages.map((p, i) => p.screenshot({ path: `${picture}-${i}.png`, fullPage: true })))
  }
  console.error(`at "${where}": ${error.stack}`)
  process.exitCode = 1
} finally {
  await browser.close()
}
