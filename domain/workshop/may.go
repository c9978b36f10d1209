package workshop

import (
	"maps"
	"slices"

	"winterbench/domain"
)

// Action is something a person may be allowed to do.
type Action string

// The actions.
const (
	ActSetUp       Action = "set up the shop"
	ActChangeShop  Action = "change the shop's settings"
	ActStaff       Action = "change staff"
	ActToken       Action = "make or revoke an API token"
	ActFeed        Action = "make or revoke a calendar address"
	ActAccount     Action = "change how you sign in"
	ActSignIns     Action = "look at or end the sign-ins of others"
	ActDevice      Action = "trust a device of the shop"
	ActTemplate    Action = "change task templates"
	ActPart        Action = "change the parts list"
	ActCustomer    Action = "note a customer"
	ActInstrument  Action = "note an instrument"
	ActArrive      Action = "take an instrument in"
	ActMark        Action = "note a condition mark"
	ActSurvey      Action = "survey an instrument"
	ActQuote       Action = "draft a quote"
	ActSay         Action = "say a quote to the customer"
	ActAnswer      Action = "record the customer's answer"
	ActAnswerOwn   Action = "answer your own quote"
	ActMail        Action = "mail a customer"
	ActOutbox      Action = "look after the outbox"
	ActShare       Action = "make or revoke a customer's link"
	ActClock       Action = "clock on or off"
	ActCorrect     Action = "correct a clocking"
	ActWait        Action = "note a wait"
	ActHold        Action = "start, read or end a hold"
	ActPartUsed    Action = "note parts used"
	ActTask        Action = "finish, reopen or drop a task"
	ActCheck       Action = "note quality checks"
	ActCall        Action = "note a call to the customer"
	ActMoney       Action = "take money"
	ActInvoice     Action = "issue an invoice"
	ActSell        Action = "sell over the counter"
	ActRefund      Action = "give money back"
	ActCredit      Action = "issue a credit note"
	ActWriteOff    Action = "give up a debt"
	ActTips        Action = "pay tips out"
	ActPayCredit   Action = "pay store credit out"
	ActTerms       Action = "give a customer an account"
	ActHandOver    Action = "hand an instrument over"
	ActUnclaimed   Action = "close a job as unclaimed"
	ActAir         Action = "note the shop's air"
	ActMeter       Action = "change meters, places of air and calibrations"
	ActPhoto       Action = "add a photo"
	ActWithdraw    Action = "withdraw a photo"
	ActMade        Action = "note how a joint was made"
	ActLink        Action = "link a job to the earlier one it repeats"
	ActComeback    Action = "decide who pays for a comeback"
	ActScenario    Action = "keep a what-if of the season"
	ActClimate     Action = "note the climate of the town"
	ActGuess       Action = "say how many jobs to expect"
	ActErase       Action = "erase a customer"
	ActHandOut     Action = "hand out what is kept on a customer"
	ActReceive     Action = "receive parts, or send them back"
	ActDamage      Action = "note damaged parts"
	ActCount       Action = "count the shelf"
	ActOrder       Action = "order parts and change suppliers"
	ActBooks       Action = "keep the books"
	ActRead        Action = "read the books"
	ActReadBalance Action = "read the shop's earnings"
)

// allowed is the one table of who may do what. What is not in it is denied.
var allowed = map[Action][]domain.Role{
	ActChangeShop:  {domain.Owner},
	ActStaff:       {domain.Owner},
	ActToken:       {domain.Counter, domain.Bench, domain.Owner},
	ActFeed:        {domain.Counter, domain.Bench, domain.Owner},
	ActAccount:     {domain.Counter, domain.Bench, domain.Owner},
	ActSignIns:     {domain.Owner},
	ActDevice:      {domain.Owner},
	ActTemplate:    {domain.Owner},
	ActPart:        {domain.Owner},
	ActCustomer:    {domain.Counter, domain.Owner},
	ActInstrument:  {domain.Counter, domain.Bench, domain.Owner},
	ActArrive:      {domain.Counter, domain.Owner},
	ActMark:        {domain.Counter, domain.Bench, domain.Owner},
	ActSurvey:      {domain.Counter, domain.Bench, domain.Owner},
	ActQuote:       {domain.Counter, domain.Bench, domain.Owner},
	ActSay:         {domain.Counter, domain.Owner},
	ActAnswer:      {domain.Counter, domain.Owner},
	ActAnswerOwn:   {domain.ByLink}, // the one thing that a customer does
	ActMail:        {domain.Counter, domain.Owner},
	ActOutbox:      {domain.Owner},
	ActShare:       {domain.Counter, domain.Owner},
	ActClock:       {domain.Bench, domain.Owner},
	ActCorrect:     {domain.Bench, domain.Owner},
	ActWait:        {domain.Counter, domain.Bench, domain.Owner},
	ActHold:        {domain.Bench, domain.Owner},
	ActPartUsed:    {domain.Bench, domain.Owner},
	ActTask:        {domain.Bench, domain.Owner},
	ActCheck:       {domain.Bench, domain.Owner},
	ActCall:        {domain.Counter, domain.Owner},
	ActMoney:       {domain.Counter, domain.Owner},
	ActInvoice:     {domain.Counter, domain.Owner},
	ActSell:        {domain.Counter, domain.Owner},
	ActRefund:      {domain.Owner},
	ActCredit:      {domain.Owner},
	ActWriteOff:    {domain.Owner},
	ActTips:        {domain.Owner},
	ActPayCredit:   {domain.Owner},
	ActTerms:       {domain.Owner},
	ActHandOver:    {domain.Counter, domain.Owner},
	ActUnclaimed:   {domain.Owner},
	ActErase:       {domain.Owner},
	ActHandOut:     {domain.Owner},
	ActAir:         {domain.Counter, domain.Bench, domain.Owner},
	ActMeter:       {domain.Bench, domain.Owner},
	ActPhoto:       {domain.Counter, domain.Bench, domain.Owner},
	ActWithdraw:    {domain.Owner},
	ActMade:        {domain.Bench, domain.Owner},
	ActLink:        {domain.Counter, domain.Bench, domain.Owner},
	ActComeback:    {domain.Owner},
	ActScenario:    {domain.Owner},
	ActClimate:     {domain.Owner},
	ActGuess:       {domain.Owner},
	ActReceive:     {domain.Counter, domain.Owner},
	ActDamage:      {domain.Bench, domain.Owner},
	ActCount:       {domain.Bench, domain.Owner},
	ActOrder:       {domain.Owner},
	ActBooks:       {domain.Owner},
	ActRead:        {domain.Counter, domain.Bench, domain.Owner},
	ActReadBalance: {domain.Owner},
}

// whole are the actions for who acts with all that they may: a stay by PIN and a
// narrowed token would get more by them than they were given.
var whole = map[Action]bool{ActToken: true, ActFeed: true, ActAccount: true, ActSignIns: true, ActDevice: true, ActStaff: true}

// Actions lists all that somebody may be allowed to do, in order.
func Actions() []Action { return slices.Sorted(maps.Keys(allowed)) }

// Allowed returns the hats that may do a, nil when nobody may.
func Allowed(a Action) []domain.Role { return append([]domain.Role(nil), allowed[a]...) }

// May returns nil when by may do a, a sign-in error for nobody, else a denied error.
func May(by domain.Actor, a Action) error {
	switch {
	case by.Staff == 0 && by.Link == 0:
		return &domain.Error{Kind: domain.SignIn, Text: "sign in first"}
	case by.Limited && whole[a]:
		return domain.Deniedf("you may not %s from here; sign in with your password", a)
	case !by.Wears(allowed[a]...):
		return domain.Deniedf("you may not %s; ask somebody who wears the right hat", a)
	}
	return nil
}
