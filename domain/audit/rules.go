package audit

// The rules, each named once.
var (
	stageRule = Rule{
		"stage", "The stage written on a job, and since when, is the one that its facts tell.",
		"Lists, the bench and the queue go by what is written: a job under a wrong stage is worked on at the wrong time, or forgotten.",
	}
	belongRule = Rule{
		"belongs", "What hangs on a job names tasks, quotes, holds and invoices of the same job.",
		"Minutes, parts and money would count for somebody else's instrument.",
	}
	totalsRule = Rule{
		"totals", "The totals kept on a quote or an invoice are those of its lines.",
		"A document would ask for a sum that nobody can follow.",
	}
	agreedRule = Rule{
		"agreed", "What was agreed is what the agreed lines come to, and no bill is above it.",
		"A customer pays what they said yes to and no more.",
	}
	seriesRule = Rule{
		"series", "Numbers of tags, quotes, invoices, credit notes, receipts and orders follow each other without gaps or doubles, and the series stands at the last.",
		"A missing invoice number must be explained to whoever checks the taxes; a double one sends two people the same bill.",
	}
	paymentRule = Rule{
		"payments", "No payment goes beyond what was owed, no refund beyond what was paid, and the change is what was given less the amount.",
		"Money that is nobody's lies in the box, or is missing from it.",
	}
	coinRule = Rule{
		"cash rounding", "Only cash is rounded, by less than the smallest coin of its day.",
		"A larger rounding would be a discount without a reason.",
	}
	clockRule = Rule{
		"clocks", "Nobody is on two clocks at once, each stretch ends after its start, and a correction names the stretch it puts right.",
		"Minutes would be billed twice, or never.",
	}
	taskRule = Rule{
		"tasks", "A task that is done or dropped has no clock, wait or hold running, and what must come before it came before it.",
		"Glue on dry wood opens again; a clock that runs on a finished task bills minutes that nobody worked.",
	}
	holdRule = Rule{
		"holds", "A place of the cabinet holds one instrument at a time, and an instrument is in one place at a time.",
		"The readings of a place would be those of another instrument.",
	}
	readingRule = Rule{
		"readings", "A reading lies within its hold, and a correction has the hold and the moment of the reading it puts right.",
		"A hold would be ended by what was read outside of it.",
	}
	promiseRule = Rule{
		"promises", "A promised day is the last that the customer was told.",
		"The shop would keep another day than the customer waits for.",
	}
	comebackRule = Rule{
		"comebacks", "A comeback names an earlier job on the same instrument, and no chain of comebacks runs in a circle.",
		"How long repairs hold could not be told, and who pays for a comeback goes by it.",
	}
	keyRule = Rule{
		"request keys", "What was asked for once under a key has its result, and that is there.",
		"The same press of a button would be carried out twice, or answered with something that does not exist.",
	}
	photoRule = Rule{
		"photos", "The files of a photo are there and are what was kept.",
		"A photo is the proof of how an instrument arrived.",
	}
	balanceRule = Rule{
		"journal", "Every entry of the journal balances, on accounts that are known.",
		"Without it no sum of the books means anything.",
	}
	postedRule = Rule{
		"posted", "Each invoice, credit note, payment and debt given up stands in the journal once, with its amount.",
		"What is posted twice or never makes the taxes and the profit wrong.",
	}
	owedRule = Rule{
		"receivables", "What the journal says is owed on a job, less the deposits it holds with their tax, is what its invoice and payments say; deposits are used before anything is owed, and their tax goes with them.",
		"Customers would be asked for another sum than the books know.",
	}
	workRule = Rule{
		"work in progress", "Parts in jobs that are not billed stand as work in progress at their cost, and none on a job that has left.",
		"The profit of a month would be wrong by the parts on the bench.",
	}
	shelfRule = Rule{
		"shelf", "The level of a part is what its moves add up to, move by move, never below zero.",
		"Parts would be promised that are not there.",
	}
	shelfBooksRule = Rule{
		"shelf in the books", "Each move of a part is posted once with its value, and the stock account stands at the value of the shelf.",
		"The accountant would see another stock than the shelf.",
	}
	soldRule = Rule{
		"sold", "What a sale over the counter took off the shelf is what its invoice says, and no more of it came back.",
		"Parts would leave without money for them, or be paid for twice.",
	}
	reserveRule = Rule{
		"reservations", "Parts are reserved for jobs that are in the shop and agreed, and a level's reserved quantity is their sum.",
		"A part would be kept for somebody who does not come, while another waits for it.",
	}
	keptRule = Rule{
		"kept money", "Store credit and tips add up move by move, are never below zero, and stand in the journal.",
		"It is other people's money.",
	}
	monthRule = Rule{
		"months", "A month that is closed has the entries and the sum with which it was closed.",
		"What was told the authority would change afterwards.",
	}
	referRule = Rule{
		"references", "What a row refers to exists.",
		"Pages about it would fail, and a copy of the books could not be brought back.",
	}
)

// Rules lists the rules in the order of a report.
func Rules() []Rule {
	return []Rule{
		stageRule, belongRule, totalsRule, agreedRule, seriesRule, paymentRule, coinRule, clockRule, taskRule, holdRule, readingRule,
		promiseRule, comebackRule, keyRule, photoRule, referRule,
		balanceRule, postedRule, owedRule, workRule, shelfRule, shelfBooksRule, soldRule, reserveRule, keptRule, monthRule,
	}
}
