package store

import (
	"context"

	"github.com/jackc/pgx/v5"

	"yardwright/batch"
	"yardwright/batch/length"
	"yardwright/costing/money"
)

// Cloth is a fabric as bought, as stored. Prices are in the workshop's currency.
type Cloth struct {
	ID                 int64
	Name, Content      string
	Design             string
	FullWidth, Selvage length.Length
	Price              money.Decimal
	PriceUnit          string
	// Discount and Tax are shares; Freight was paid for FreightLength. Together with Price
	// they make the landed price. Wastage is a share too.
	Discount, Tax, Wastage money.Decimal
	Freight                money.Decimal
	FreightLength          length.Length
	ShrinkLength           money.Decimal
	ShrinkWidth            money.Decimal
	PreWashed              bool
	Nap                    batch.Nap
	RepeatLength           length.Length
	RepeatWidth            length.Length
	Thickness              batch.Thickness
	Care                   string
	CanBuy                 bool
	// PutAway: it isn't offered any more.
	PutAway             bool
	Version             int
	OnShelf, Reserved   length.Length
	Bolts, LongestPiece int64
}

const clothColumns = `c.id, c.name, c.content, c.design, c.full_width, c.selvage, c.price, c.price_unit, c.discount, c.tax, c.wastage, c.freight, c.freight_length, c.shrink_length, c.shrink_width, c.pre_washed,
	c.nap, c.repeat_length, c.repeat_width, c.thickness, c.care, c.can_buy, c.put_away, c.version,
	coalesce(b.on_shelf, 0)::bigint AS on_shelf, coalesce(b.reserved, 0)::bigint AS reserved, coalesce(b.bolts, 0) AS bolts, coalesce(b.longest, 0) AS longest_piece`

// shelfOfCloth sums what is on the shelf of each cloth.
const shelfOfCloth = ` LEFT JOIN LATERAL (
		SELECT sum(b.length) AS on_shelf, count(*) AS bolts, max(b.length) AS longest, sum(r.reserved) AS reserved
		FROM bolts b LEFT JOIN LATERAL (SELECT sum(length) AS reserved FROM bolt_reservations WHERE bolt_id = b.id) r ON true
		WHERE b.cloth_id = c.id AND b.length > 0
	) b ON true`

// Cloths lists the cloths by name, with what is on the shelf of each.
func (s *Store) Cloths(ctx context.Context, workshop int64) ([]Cloth, error) {
	return list[Cloth](ctx, s.db, clothsOfWorkshop, args{"workshop": workshop})
}

const clothsOfWorkshop = `SELECT ` + clothColumns + ` FROM cloths c` + shelfOfCloth + ` WHERE c.workshop_id = @workshop ORDER BY c.name`

// Cloth returns one cloth.
func (s *Store) Cloth(ctx context.Context, workshop, id int64) (Cloth, error) {
	return one[Cloth](ctx, s.db, "cloth", `SELECT `+clothColumns+` FROM cloths c`+shelfOfCloth+` WHERE c.workshop_id = @workshop AND c.id = @id`,
		args{"workshop": workshop, "id": id})
}

func clothArgs(workshop int64, c Cloth) args {
	return args{
		"workshop": workshop, "name": c.Name, "content": c.Content, "design": c.Design, "full_width": c.FullWidth, "selvage": c.Selvage,
		"price": c.Price, "price_unit": c.PriceUnit, "discount": c.Discount, "tax": c.Tax, "wastage": c.Wastage, "freight": c.Freight,
		"freight_length": c.FreightLength, "shrink_length": c.ShrinkLength, "shrink_width": c.ShrinkWidth, "pre_washed": c.PreWashed,
		"nap": c.Nap, "repeat_length": c.RepeatLength, "repeat_width": c.RepeatWidth, "thickness": c.Thickness, "care": c.Care, "can_buy": c.CanBuy,
	}
}

// AddCloth stores a new cloth.
func (s *Store) AddCloth(ctx context.Context, workshop int64, c Cloth) (int64, error) {
	return scalar[int64](ctx, s.db, `
		INSERT INTO cloths (workshop_id, name, content, design, full_width, selvage, price, price_unit, discount, tax, wastage, freight, freight_length,
			shrink_length, shrink_width, pre_washed, nap, repeat_length, repeat_width, thickness, care, can_buy)
		VALUES (@workshop, @name, @content, @design, @full_width, @selvage, @price, @price_unit, @discount, @tax, @wastage, @freight, @freight_length,
			@shrink_length, @shrink_width, @pre_washed, @nap, @repeat_length, @repeat_width, @thickness, @care, @can_buy) RETURNING id`, clothArgs(workshop, c))
}

// SaveCloth changes a cloth if nobody else has in the meantime.
func (s *Store) SaveCloth(ctx context.Context, workshop int64, c Cloth) error {
	named := clothArgs(workshop, c)
	named["id"], named["version"] = c.ID, c.Version
	return changed(ctx, s.db, "cloth", `
		UPDATE cloths SET name = @name, content = @content, design = @design, full_width = @full_width, selvage = @selvage, price = @price,
			price_unit = @price_unit, discount = @discount, tax = @tax, wastage = @wastage, freight = @freight, freight_length = @freight_length, shrink_length = @shrink_length, shrink_width = @shrink_width, pre_washed = @pre_washed, nap = @nap,
			repeat_length = @repeat_length, repeat_width = @repeat_width, thickness = @thickness, care = @care, can_buy = @can_buy, version = version + 1
		WHERE workshop_id = @workshop AND id = @id AND version = @version`, named)
}

// RemoveCloth removes a cloth that nothing uses.
func (s *Store) RemoveCloth(ctx context.Context, workshop, id int64) error {
	return changed(ctx, s.db, "cloth", `DELETE FROM cloths WHERE workshop_id = @workshop AND id = @id`, args{"workshop": workshop, "id": id})
}

// Bolt is cloth on the shelf, as stored.
type Bolt struct {
	ID        int64
	ClothID   int64
	ClothName string
	Name, Lot string
	// FullWidth is nil where the bolt has its cloth's width.
	FullWidth *length.Length
	Length    length.Length
	// Price per price unit of the cloth; nil where it is the cloth's.
	Price   *money.Decimal
	Place   string
	Remnant bool
	Version int
	// Reserved is what batches hold of it.
	Reserved length.Length
	// Reason is why a bolt that is saved has another length than before.
	Reason string `db:"-"`
	// Faults are those that a bolt is saved with, measured as by FaultsOf; nil leaves them as they are.
	Faults []BoltFault `db:"-"`
}

// Free is what no batch holds.
func (b Bolt) Free() length.Length { return b.Length - b.Reserved }

const boltColumns = `b.id, b.cloth_id, c.name AS cloth_name, b.name, b.lot, b.full_width, b.length, b.price, b.place, b.remnant, b.version,
	coalesce((SELECT sum(r.length) FROM bolt_reservations r WHERE r.bolt_id = b.id), 0)::bigint AS reserved`

// Bolts lists the bolts with cloth left on them, by cloth, whole bolts first.
func (s *Store) Bolts(ctx context.Context, workshop int64) ([]Bolt, error) {
	return list[Bolt](ctx, s.db, boltsOfWorkshop, args{"workshop": workshop})
}

const boltsOfWorkshop = `SELECT ` + boltColumns + ` FROM bolts b JOIN cloths c ON c.id = b.cloth_id
	WHERE b.workshop_id = @workshop AND b.length > 0 ORDER BY c.name, b.remnant, b.name`

// UsedUp lists the bolts without cloth left on them, those used up last first.
func (s *Store) UsedUp(ctx context.Context, workshop int64, most int) ([]Bolt, error) {
	return list[Bolt](ctx, s.db, `SELECT `+boltColumns+` FROM bolts b JOIN cloths c ON c.id = b.cloth_id
		WHERE b.workshop_id = @workshop AND b.length = 0 ORDER BY (SELECT max(m.id) FROM bolt_moves m WHERE m.bolt_id = b.id) DESC LIMIT @most`, args{"workshop": workshop, "most": most})
}

// Bolt returns one bolt.
func (s *Store) Bolt(ctx context.Context, workshop, id int64) (Bolt, error) {
	return one[Bolt](ctx, s.db, "bolt", `SELECT `+boltColumns+` FROM bolts b JOIN cloths c ON c.id = b.cloth_id WHERE b.workshop_id = @workshop AND b.id = @id`,
		args{"workshop": workshop, "id": id})
}

// BoltFault is a damaged place of a bolt.
type BoltFault struct {
	ID, BoltID           int64
	FromLength, ToLength length.Length
	FromWidth, ToWidth   length.Length
	Note                 string
}

// BoltFaults lists the faults of all bolts of a workshop, measured from where the cloth begins
// that no batch holds: batches cut in the order in which they were released.
func (s *Store) BoltFaults(ctx context.Context, workshop int64) ([]BoltFault, error) {
	return list[BoltFault](ctx, s.db, faultsOfWorkshop, args{"workshop": workshop})
}

const faultsOfWorkshop = `
	SELECT f.id, f.bolt_id, greatest(0, f.from_length - b.gone)::bigint AS from_length, (f.to_length - b.gone)::bigint AS to_length, f.from_width, f.to_width, f.note
	FROM bolt_faults f JOIN (SELECT id, workshop_id, cut_off + coalesce((SELECT sum(r.length) FROM bolt_reservations r WHERE r.bolt_id = bolts.id), 0) AS gone FROM bolts) b
		ON b.id = f.bolt_id
	WHERE b.workshop_id = @workshop AND f.to_length > b.gone ORDER BY f.bolt_id, f.from_length`

// AddBolt stores a new bolt or remnant with its faults.
func (s *Store) AddBolt(ctx context.Context, workshop int64, b Bolt, faults []BoltFault) (id int64, err error) {
	err = s.InTx(ctx, func(s *Store) error {
		id, err = scalar[int64](ctx, s.db, `
			INSERT INTO bolts (workshop_id, cloth_id, name, lot, full_width, length, price, place, remnant)
			SELECT @workshop, c.id, @name, @lot, @full_width, 0, @price, @place, @remnant FROM cloths c WHERE c.id = @cloth AND c.workshop_id = @workshop RETURNING id`,
			args{
				"workshop": workshop, "cloth": b.ClothID, "name": b.Name, "lot": b.Lot, "full_width": b.FullWidth,
				"price": b.Price, "place": b.Place, "remnant": b.Remnant,
			})
		if err != nil {
			return noRow(err, Wrong("cloth", "Choose a cloth."))
		}
		if b.Length < 0 {
			return Wrong("length", rules["bolts_length_not_negative"].Message)
		}
		if _, err := s.addMove(ctx, BoltMove{BoltID: id, Kind: MoveReceived, Change: b.Length}); err != nil {
			return err
		}
		return s.writeFaults(ctx, id, faults)
	})
	return id, err
}

// SaveBolt changes a bolt if nobody else has in the meantime. Another length than before is a
// correction and needs a reason.
func (s *Store) SaveBolt(ctx context.Context, workshop int64, b Bolt) error {
	return s.InTx(ctx, func(s *Store) error {
		err := changed(ctx, s.db, "bolt", `
			UPDATE bolts SET name = @name, lot = @lot, full_width = @full_width, price = @price, place = @place, remnant = @remnant, version = version + 1
			WHERE workshop_id = @workshop AND id = @id AND version = @version`,
			args{
				"workshop": workshop, "id": b.ID, "version": b.Version, "name": b.Name, "lot": b.Lot, "full_width": b.FullWidth,
				"price": b.Price, "place": b.Place, "remnant": b.Remnant,
			})
		if err != nil {
			return err
		}
		if b.Faults != nil {
			if _, err := s.db.Exec(ctx, `DELETE FROM bolt_faults f USING bolts b WHERE b.id = f.bolt_id AND b.id = @id AND f.to_length > b.cut_off`, args{"id": b.ID}); err != nil {
				return fault(err)
			}
			if err := s.writeFaults(ctx, b.ID, b.Faults); err != nil {
				return err
			}
		}
		before, err := scalar[length.Length](ctx, s.db, `SELECT length FROM bolts WHERE id = @id`, args{"id": b.ID})
		if err != nil || before == b.Length {
			return err
		}
		_, err = s.addMove(ctx, BoltMove{BoltID: b.ID, Kind: MoveCorrected, Change: b.Length - before, Note: b.Reason})
		return err
	})
}

// writeFaults stores faults that were measured from the free end of a bolt.
func (s *Store) writeFaults(ctx context.Context, bolt int64, faults []BoltFault) error {
	queue := &pgx.Batch{}
	for _, f := range faults {
		queue.Queue(`INSERT INTO bolt_faults (bolt_id, from_length, to_length, from_width, to_width, note)
			SELECT b.id, b.cut_off + @from_length, b.cut_off + @to_length, @from_width, @to_width, @note FROM bolts b WHERE b.id = @bolt`,
			args{"bolt": bolt, "from_length": f.FromLength, "to_length": f.ToLength, "from_width": f.FromWidth, "to_width": f.ToWidth, "note": f.Note})
	}
	return sendAll(ctx, s.db, queue)
}

// Reserve holds cloth of a bolt for a batch. A bolt that hasn't got so much free is a
// conflict, also when two batches ask at once.
func (s *Store) Reserve(ctx context.Context, workshop, batchID, bolt int64, held length.Length) error {
	return changed(ctx, s.db, "bolt", `
		INSERT INTO bolt_reservations (bolt_id, batch_id, length)
		SELECT b.id, @batch, @held FROM bolts b WHERE b.id = @bolt AND b.workshop_id = @workshop`,
		args{"workshop": workshop, "batch": batchID, "bolt": bolt, "held": held})
}
