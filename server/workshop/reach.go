package workshop

import (
	"context"
	"encoding/json"
	"time"

	"yardwright/batch"
	"yardwright/costing/money"
	"yardwright/server/store"
)

// Reads are what pages and commands look up. Nothing here changes anything.
type Reads interface {
	Batch(ctx context.Context, workshop, id int64) (store.Batch, error)
	BatchLines(ctx context.Context, workshop, id int64) ([]batch.Line, error)
	BatchOrders(ctx context.Context, workshop, id int64) ([]store.BatchOrder, error)
	BatchPlan(ctx context.Context, workshop, id int64) (store.BatchPlan, error)
	BatchWork(ctx context.Context, workshop, batchID int64) (store.BatchWork, error)
	Batches(ctx context.Context, workshop int64, most int) ([]store.Batch, error)
	BatchesPage(ctx context.Context, workshop int64, most, skip int) (batches []store.Batch, all int, err error)
	Bolt(ctx context.Context, workshop, id int64) (store.Bolt, error)
	BoltHolds(ctx context.Context, workshop int64, bolts []int64) ([]store.BoltHold, error)
	BoltMoves(ctx context.Context, workshop, bolt int64) ([]store.BoltMove, error)
	BoltNames(ctx context.Context, workshop int64) ([]string, error)
	Bolts(ctx context.Context, workshop int64) ([]store.Bolt, error)
	CalendarKey(ctx context.Context, workshop int64) (string, error)
	Channel(ctx context.Context, workshop, id int64) (store.Channel, error)
	Channels(ctx context.Context, workshop int64) ([]store.Channel, error)
	Chart(ctx context.Context, workshop, id int64) (store.Chart, error)
	Charts(ctx context.Context, workshop int64) ([]store.Chart, error)
	Cloth(ctx context.Context, workshop, id int64) (store.Cloth, error)
	Cloths(ctx context.Context, workshop int64) ([]store.Cloth, error)
	Colourways(ctx context.Context, workshop int64) ([]store.Colourway, error)
	CostSettings(ctx context.Context, workshop int64) (store.CostSettings, error)
	Counts(ctx context.Context, workshop int64) (store.Counts, error)
	Customers(ctx context.Context, workshop int64) ([]store.Customer, error)
	DaysOff(ctx context.Context, workshop int64) ([]time.Time, error)
	DueCounts(ctx context.Context, workshop int64, today time.Time) (store.DueCounts, error)
	FaultsOf(ctx context.Context, workshop, bolt int64) ([]store.BoltFault, error)
	FindOrders(ctx context.Context, workshop int64, search store.OrderSearch) (orders []store.Order, all int, err error)
	FirstWorkshop(ctx context.Context) (store.Workshop, error)
	HasOwner(ctx context.Context, workshop int64) (bool, error)
	HeldPlan(ctx context.Context, workshop, batchID int64) (int64, *batch.Plan, error)
	IssuedPrices(ctx context.Context, workshop int64) (map[int64]json.RawMessage, error)
	KeptPlans(ctx context.Context, workshop, batchID int64, most int) ([]store.KeptPlan, error)
	KeptPrices(ctx context.Context, workshop, style int64, most int) ([]store.KeptPrices, error)
	LatestPlan(ctx context.Context, workshop, batchID int64) (*store.BatchPlan, error)
	ListsOfStyle(ctx context.Context, workshop int64, style string, most int) ([]store.ListOfStyle, error)
	MadePlan(ctx context.Context, workshop, batchID int64) (*batch.Plan, error)
	MayFill(ctx context.Context, workshop int64) error
	Notions(ctx context.Context, workshop int64) ([]store.Notion, error)
	OpenLines(ctx context.Context, workshop int64) ([]store.OrderLine, error)
	Order(ctx context.Context, workshop, id int64) (store.Order, error)
	OrderForm(ctx context.Context, workshop, id int64) (store.OrderForm, error)
	OrderForms(ctx context.Context, workshop int64, most int) ([]store.OrderForm, error)
	OrderMoney(ctx context.Context, workshop, order int64) (m store.OrderMoney, err error)
	Orders(ctx context.Context, workshop int64, state string, most int) ([]store.Order, error)
	OrdersOfForm(ctx context.Context, workshop, form int64) ([]store.Order, error)
	PlannedBatches(ctx context.Context, workshop, colourway int64, size string, most int) ([]store.Batch, error)
	PriceList(ctx context.Context, workshop, id int64) (store.IssuedList, error)
	PriceLists(ctx context.Context, workshop int64) ([]store.IssuedList, error)
	Seams(ctx context.Context, workshop, style int64) ([]store.Seam, error)
	Sent(ctx context.Context, workshop int64, key string) (string, error)
	SignIns(ctx context.Context, user int64) ([]store.SignIn, error)
	SignedIn(ctx context.Context, workshop, id int64, idle time.Duration) (store.SignIn, error)
	Style(ctx context.Context, workshop, id int64) (store.Style, error)
	Styles(ctx context.Context, workshop int64) ([]store.Style, error)
	TimeStudies(ctx context.Context, workshop, style int64) ([]store.TimeStudy, error)
	TimeStudy(ctx context.Context, workshop, style, id int64) (store.TimeStudy, error)
	UsedUp(ctx context.Context, workshop int64, most int) ([]store.Bolt, error)
	User(ctx context.Context, workshop, id int64) (store.User, error)
	Users(ctx context.Context, workshop int64) ([]store.User, error)
	Whole(ctx context.Context, workshop int64) (*store.Whole, error)
	Workshop(ctx context.Context, id int64) (store.Workshop, error)
	YearCosts(ctx context.Context, workshop int64) ([]store.YearCost, error)
}

// Records are use cases that are one statement of the store: all their rules are in the schema, and
// no other record follows.
type Records interface {
	AddCloth(ctx context.Context, workshop int64, c store.Cloth) (int64, error)
	AddDaysOff(ctx context.Context, workshop int64, days []time.Time) ([]time.Time, error)
	AddNotion(ctx context.Context, workshop int64, n store.Notion) (id int64, err error)
	AddSignIn(ctx context.Context, user int64, device, address string, idle time.Duration) (int64, error)
	AgreeOrderPrice(ctx context.Context, workshop, order int64, version int, price *money.Decimal) error
	ChangeBatchExpenses(ctx context.Context, workshop, batchID int64, version string, expenses []store.BatchExpense) error
	ChangeCalendarKey(ctx context.Context, workshop int64) error
	ChangeStyleCosts(ctx context.Context, workshop, style int64, version string, c store.StyleCosts) error
	ChangeStyleExpenses(ctx context.Context, workshop, style int64, version string, expenses []store.StyleExpense) error
	ChoosePlan(ctx context.Context, workshop, id int64, version int, plan int64) error
	EndOtherSignIns(ctx context.Context, user, but int64) error
	EndSignIn(ctx context.Context, user, id int64) error
	PutAwayCloth(ctx context.Context, workshop, id int64, away bool) error
	PutAwayColourway(ctx context.Context, workshop, id int64, away bool) error
	PutAwayNotion(ctx context.Context, workshop, id int64, away bool) error
	PutBackUser(ctx context.Context, workshop, id int64) error
	PutOrderBack(ctx context.Context, workshop, id int64, version int, order int64) error
	RemoveBatch(ctx context.Context, workshop, id int64, version int) error
	RemoveCloth(ctx context.Context, workshop, id int64) error
	RemoveColourway(ctx context.Context, workshop, id int64) error
	RemoveDaysOff(ctx context.Context, workshop int64, days []time.Time) ([]time.Time, error)
	RemoveDrawing(ctx context.Context, workshop, id int64) error
	RemoveNotion(ctx context.Context, workshop, id int64) error
	RemovePayment(ctx context.Context, workshop, order, id int64, back bool) error
	RemoveStyle(ctx context.Context, workshop, id int64) error
	RemoveTimeStudy(ctx context.Context, workshop, style, id int64) error
	RemoveUser(ctx context.Context, workshop, id int64) error
	RemoveWorkshop(ctx context.Context, id int64) error
	SaveBolt(ctx context.Context, workshop int64, b store.Bolt) error
	SaveCloth(ctx context.Context, workshop int64, c store.Cloth) error
	SaveNotion(ctx context.Context, workshop int64, n store.Notion) error
	SeenSignIn(ctx context.Context, id int64) error
	TakeOrderOut(ctx context.Context, workshop, id int64, version int, order int64) error
}
