package store

import (
	"errors"
	"strings"

	"github.com/jackc/pgx/v5/pgconn"
)

// Kind says what sort of refusal a Fault is.
type Kind string

// The kinds that people are told about. Everything else is an internal error.
const (
	NotFound  Kind = "not found"
	Invalid   Kind = "invalid"
	Conflict  Kind = "conflict"
	Forbidden Kind = "forbidden"
)

// Problem is one thing wrong, at the field it belongs to.
type Problem struct {
	// Field is the name of the form field; empty for the whole.
	Field   string
	Message string
}

// Fault is a refusal in words for the person who can mend it.
type Fault struct {
	Kind     Kind
	Problems []Problem
	cause    error
}

func (f *Fault) Error() string {
	lines := make([]string, len(f.Problems))
	for i, problem := range f.Problems {
		lines[i] = problem.Message
		if problem.Field != "" {
			lines[i] = problem.Field + ": " + problem.Message
		}
	}
	return strings.Join(lines, "\n")
}

// Unwrap gives the error of the database that led to the fault, if any.
func (f *Fault) Unwrap() error { return f.cause }

// FaultKind tells the kind, for those who know faults only by this method.
func (f *Fault) FaultKind() string { return string(f.Kind) }

// FieldMessages gives the messages by field.
func (f *Fault) FieldMessages() map[string]string {
	messages := map[string]string{}
	for _, problem := range f.Problems {
		if earlier := messages[problem.Field]; earlier != "" {
			messages[problem.Field] = earlier + " " + problem.Message
		} else {
			messages[problem.Field] = problem.Message
		}
	}
	return messages
}

// Wrong returns a fault of kind Invalid at one field.
func Wrong(field, message string) *Fault {
	return &Fault{Kind: Invalid, Problems: []Problem{{field, message}}}
}

func missing(what string) *Fault {
	return &Fault{Kind: NotFound, Problems: []Problem{{Message: "This " + what + " was not found; it may have been removed."}}}
}

// rules says, by the name of a constraint, which field it belongs to and what to do.
var rules = map[string]Problem{
	"workshops_name_given":             {"name", "Write a name."},
	"workshops_currency_shape":         {"currency", "Write the three letters of the currency, such as USD."},
	"workshops_efficiency_range":       {"efficiency", "Write an efficiency above 0 and at most 300 %."},
	"workshops_wage_not_negative":      {"wage", "Write a wage of 0 or more."},
	"workshops_day_minutes_some":       {"day.1", "Write on which days you work, and how many minutes: a year without hours makes nothing."},
	"workshops_table_positive":         {"table_length", "Write how long the cutting table is."},
	"workshops_table_range":            {"table_length", "Write a length between 8 in (20 cm) and 109 yd (100 m)."},
	"workshops_end_loss_range":         {"end_loss", "Write a loss between 0 and 39 in (1 m)."},
	"workshops_room_on_table":          {"end_loss", "The losses at both ends leave no room on the table. Write a smaller loss, or a longer table."},
	"workshops_gap_range":              {"gap", "Write a gap between 0 and 7 in (20 cm)."},
	"workshops_keep_range":             {"keep_length", "Write a length between 0 and 109 yd (100 m)."},
	"workshops_cut_tolerance_range":    {"cut_tolerance", "Write a length between 0 and 4 in (10 cm)."},
	"workshops_roll_end_range":         {"roll_end", "Write a length between 0 and 39 in (1 m)."},
	"workshops_buy_step_range":         {"buy_step", "Write a length between ⅛ in (1 mm) and 109 yd (100 m)."},
	"workshops_remnant_worth_percent":  {"remnant_worth", "Enter a percentage from 0 to 100."},
	"workshops_buy_tolerance_percent":  {"buy_tolerance", "Enter a percentage from 0 to 100."},
	"cloths_width_range":               {"full_width", "Write a width between ½ in (1 cm) and 10 yd (10 m)."},
	"cloths_repeat_length_range":       {"repeat_length", "Write a repeat between 0 and 10 yd (10 m)."},
	"cloths_repeat_width_range":        {"repeat_width", "Write a repeat between 0 and 10 yd (10 m)."},
	"bolts_width_range":                {"full_width", "Write a width between ½ in (1 cm) and 10 yd (10 m)."},
	"bolts_length_range":               {"length", "Write a length of at most 10,900 yd (10 km)."},
	"notions_buy_length_range":         {"buy_length", "Write a length of at most 109,000 yd (100 km)."},
	"notion_rolls_length_range":        {"rolls", "A roll has at most 109,000 yd (100 km)."},
	"style_allowances_range":           {"allowances", "An allowance is too large or too small."},
	"size_charts_name_once":            {"name", "There is a size chart of this name already; choose another name."},
	"size_charts_name_given":           {"name", "Write a name."},
	"cloths_name_once":                 {"name", "There is a cloth of this name already; choose another name."},
	"cloths_name_given":                {"name", "Write a name."},
	"cloths_width_positive":            {"full_width", "Write how wide the cloth is."},
	"cloths_selvage_range":             {"selvage", "Two selvages must be narrower than the cloth."},
	"cloths_price_not_negative":        {"price", "Write a price of 0 or more."},
	"cloths_shrink_length_range":       {"shrink_length", "Write a shrinkage from 0 to 30 %."},
	"cloths_shrink_width_range":        {"shrink_width", "Write a shrinkage from 0 to 30 %."},
	"bolts_name_once":                  {"name", "There is a bolt of this name already; choose another name."},
	"bolts_name_given":                 {"name", "Write a name or number for the bolt."},
	"bolts_length_not_negative":        {"length", "Write a length of 0 or more."},
	"bolts_width_positive":             {"full_width", "Write how wide the bolt is, or leave it empty for the cloth's width."},
	"bolts_cloth_id_fkey":              {"cloth", "Choose a cloth."},
	"notions_name_once":                {"name", "There is a notion of this name already; choose another name."},
	"notions_name_given":               {"name", "Write a name."},
	"notions_length_given":             {"buy_length", "Write how long a bought roll is."},
	"notions_price_not_negative":       {"buy_price", "Write a price of 0 or more."},
	"styles_name_once":                 {"name", "There is a style of this name already; choose another name."},
	"styles_name_given":                {"name", "Write a name."},
	"colourways_name_once":             {"name", "The style has a colourway of this name already; choose another name."},
	"colourways_name_given":            {"name", "Write a name."},
	"customers_name_once":              {"name", "There is a customer of this name already; choose another name."},
	"customers_name_given":             {"name", "Write a name."},
	"orders_number_once":               {"number", "There is an order of this number already; choose another number."},
	"orders_number_given":              {"number", "Write a number for the order."},
	"orders_due_after_taken":           {"due_on", "The due day is before the day on which the order was taken."},
	"orders_customer_id_fkey":          {"customer", "Choose a customer."},
	"order_lines_once":                 {"quantity", "The same colourway and size appears twice in this order."},
	"order_lines_quantity_range":       {"quantity", "Write a quantity from 1 to 10,000."},
	"batches_name_once":                {"name", "There is a batch of this name already; choose another name."},
	"batches_name_given":               {"name", "Write a name."},
	"batch_lines_in_one_batch":         {"lines", "One of these orders is in another batch already."},
	"bolt_reservations_within_bolt":    {"length", "The bolt doesn't have that much free; another batch has reserved some."},
	"released_batches_do_not_change":   {"", "Cutting has been started, so the orders and the plan of this batch don't change. Go back to planning first."},
	"plans_do_not_change":              {"", "A finished plan doesn't change. Plan again instead."},
	"bolt_moves_reason_given":          {"reason", "Say why the length is another one now, such as: measured again."},
	"bolt_moves_undone_once":           {"", "This was undone already."},
	"notion_reservations_within_stock": {"rolls", "A batch holds some of this; there can't be less on the shelf until that batch is undone or has taken it."},
	"snapshots_do_not_change":          {"", "An issued cost sheet doesn't change. Issue a new one."},
	"cloths_discount_range":            {"discount", "Write a discount from 0 to below 100 %."},
	"cloths_freight_not_negative":      {"freight", "Write a freight of 0 or more."},
	"cloths_freight_has_length":        {"freight_length", "Write how much cloth this freight was paid for."},
	"cloths_tax_range":                 {"tax", "Write a tax from 0 %."},
	"cloths_wastage_range":             {"wastage", "Write a wastage from 0 to below 100 %."},
	"notions_discount_range":           {"discount", "Write a discount from 0 to below 100 %."},
	"notions_freight_not_negative":     {"freight", "Write a freight of 0 or more."},
	"notions_tax_range":                {"tax", "Write a tax from 0 %."},
	"notions_wastage_range":            {"wastage", "Write a wastage from 0 to below 100 %."},
	"cost_settings_allowance_range":    {"allowance", "Write an allowance from 0 to below 100 %."},
	"cost_settings_learning_range":     {"learning_rate", "Write more than 50 % and at most 100 %."},
	"cost_settings_holding_range":      {"holding", "Write a share from 0 %."},
	"bolt_costs_worth_not_negative":    {"worth", "Write a price of 0 or more."},
	"style_sizes_share_range":          {"", "Write a whole number from 0 to 10,000 for each size, or nothing."},
	"cost_settings_mix_months_range":   {"mix_months", "Write a whole number of months from 1 to 120."},
	"style_costs_sales_range":          {"year_sales", "Write a whole number from 0 to 1,000,000."},
	"style_costs_learning_range":       {"learning_rate", "Write more than 50 % and at most 100 %."},
	"typed_prices_price_positive":      {"prices", "Write a price above 0."},
	"sent_forms_once":                  {"", "This form was sent before. Reload the page and look."},
	"sent_forms_key_length":            {"", "Reload the page and try again."},
	"typed_prices_once":                {"prices", "There is a price for this already."},
	"typed_prices_colourway_of_style":  {"prices", "This colourway was not found; it may have been removed."},
	"style_costs_timed_range":          {"timed_garment", "Write a whole number from 1 to 100,000."},
	"style_expenses_garments_given":    {"", "Write how many garments share an expense that is paid for a number of them."},
	"notions_put_away_unused":          {"packing", "It goes out with every garment, so it is in use. Untick that first, then put it away."},
	"bolt_faults_has_size":             {"", "A fault must end after it begins."},
	"batch_minutes_range":              {"minutes", "Write minutes above 0."},
	"price_lists_do_not_change":        {"", "An issued price list doesn't change. Issue a new one."},
	"price_lists_revision_once":        {"", "Somebody has issued a list of this channel at the same moment. Look at it, then issue yours if it is still needed."},
	"channels_name_given":              {"name", "Write a name."},
	"channels_name_once":               {"name", "There is a channel of this name already; choose another name."},
	"colourway_cloths_cloth_id_fkey":   {"cloths", "Choose a cloth for each role."},
	"colourway_notions_notion_id_fkey": {"notions", "Choose a notion for each need."},
	"order_lines_colourway_id_fkey":    {"colourway", "Choose a colourway."},
	"styles_chart_id_fkey":             {"chart", "Choose a size chart."},
	"batch_lines_order_line_id_fkey":   {"lines", "One of these orders isn't there any more."},
	"colourways_style_id_fkey":         {"style", "Choose a style."},
	"orders_price_not_negative":        {"price", "Write a price of 0 or more."},
	"payments_amount_not_zero":         {"amount", "Write how much was paid."},
	"payments_how_known":               {"how", "Choose how it was paid."},
	"users_name_given":                 {"name", "Write a name of at most 60 letters."},
	"users_name_once":                  {"name", "There is a person of this name already; choose another name."},
	"users_role_known":                 {"role", "Choose owner or helper."},
	"order_forms_number_once":          {"", "Somebody has made an order form at the same moment. Make yours again."},
	"users_keep_an_owner":              {"", "This is the last owner who can sign in, so it can't be removed. Add another owner first."},
}

// textRule says what is wrong with a text by the name of its constraint: bolts_lot_line,
// orders_note_length.
func textRule(table, constraint string) (Problem, bool) {
	column := strings.TrimPrefix(constraint, table+"_")
	if field, ok := strings.CutSuffix(column, "_line"); ok {
		return Problem{field, "This is too long, or holds what can't be read. Write it shorter, on one line."}, true
	}
	if field, ok := strings.CutSuffix(column, "_length"); ok && field == "note" {
		return Problem{field, "Write a shorter note, of at most 1000 letters."}, true
	}
	return Problem{}, false
}

// usedBy says what still uses a thing, by the table that refers to it.
var usedBy = map[string]string{
	"bolts": "A bolt on the shelf is of this cloth", "colourway_cloths": "A colourway uses this cloth", "colourway_notions": "A colourway uses this notion",
	"order_lines": "An order uses this colourway", "styles": "A style uses this size chart", "colourways": "A colourway is of this style",
	"orders": "There are orders of this customer", "batch_lines": "A batch cuts this order", "bolt_reservations": "A batch holds cloth of this bolt",
	"batch_lay_draws": "A batch is cut from this bolt", "notion_reservations": "A batch holds some of this notion", "batch_notions": "A batch takes this notion",
}

func inUse(table string) Problem {
	by, known := usedBy[table]
	if !known {
		by = "Something else uses this"
	}
	return Problem{Message: by + ", so it can't be removed."}
}

// conflicts are the rules that are broken by what somebody else did, not by what was typed.
var conflicts = map[string]bool{
	"bolt_reservations_within_bolt": true, "batch_lines_in_one_batch": true, "notion_reservations_within_stock": true,
	"users_keep_an_owner": true, "order_forms_number_once": true, "price_lists_revision_once": true, "released_batches_do_not_change": true, "plans_do_not_change": true, "bolt_moves_undone_once": true,
}

// Codes of PostgreSQL that are refusals by a rule, not failures.
const (
	codeNotNull    = "23502"
	codeForeignKey = "23503"
	codeUnique     = "23505"
	codeCheck      = "23514"
	codeRange      = "22003"
)

// AsFault turns what a rule of the schema refused into a Fault, for errors that reached the
// caller through another library; other errors stay as they are.
func AsFault(err error) error { return fault(err) }

// fault turns what a rule of the schema refused into a Fault; other errors stay as they are.
func fault(err error) error {
	var refused *pgconn.PgError
	if err == nil || !errors.As(err, &refused) {
		return err
	}
	switch refused.Code {
	case codeUnique, codeCheck, codeForeignKey, codeNotNull, codeRange:
	default:
		return err
	}
	problem, known := rules[refused.ConstraintName]
	if !known {
		problem, known = textRule(refused.TableName, refused.ConstraintName)
	}
	if refused.Code == codeForeignKey && strings.HasPrefix(refused.Message, "update or delete") {
		// The same constraint speaks for both sides; from this one, something is still in use.
		return &Fault{Kind: Conflict, Problems: []Problem{inUse(refused.TableName)}, cause: err}
	}
	if !known {
		problem = Problem{Message: "The database refused this: " + refused.Message + "."}
		if refused.Code == codeRange {
			problem = Problem{Message: "One of the numbers is too large to be kept. Write a smaller one."}
		}
	}
	kind := Invalid
	if conflicts[refused.ConstraintName] {
		kind = Conflict
	}
	return &Fault{Kind: kind, Problems: []Problem{problem}, cause: err}
}
