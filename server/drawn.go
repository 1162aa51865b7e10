package server

import (
	"sync"

	"yardwright/batch/length"
	"yardwright/server/page"
)

// drawnLays keeps the lays of plans as they are drawn. A finished plan never changes, and
// drawing one takes longer than all the rest of its page.
type drawnLays struct {
	mu   sync.Mutex
	kept map[drawnKey][]page.ClothLays
}

type drawnKey struct {
	plan  int64
	units length.Style
	paper bool
}

// mostDrawn is when what is kept is dropped; people look at a few batches at a time.
const mostDrawn = 60

// lays returns the lays of a page's plan, ready to show.
func (d *drawnLays) lays(view page.Planned, paper bool) ([]page.ClothLays, error) {
	key := drawnKey{view.PlanID, view.Units, paper}
	d.mu.Lock()
	lays, ok := d.kept[key]
	d.mu.Unlock()
	if ok {
		return lays, nil
	}
	lays, err := clothLays(view.Base, *view.Plan, paper)
	if err != nil {
		return nil, err
	}
	for _, cloth := range lays {
		for i := range cloth.Lays {
			if cloth.Lays[i].View != nil {
				cloth.Lays[i].View.File = markerFileOf(view.Batch.ID, cloth.Plan.Cloth.ID, i+1)
			}
		}
	}
	d.mu.Lock()
	defer d.mu.Unlock()
	if len(d.kept) >= mostDrawn || d.kept == nil {
		d.kept = map[drawnKey][]page.ClothLays{}
	}
	d.kept[key] = lays
	return lays, nil
}
