package workshop

import (
	"context"
	"time"

	"yardwright/batch"
	"yardwright/server/store"
)

// DayLoad is a day's work against the time there is.
type DayLoad struct {
	Day time.Time
	// There is how long is worked on the day, Booked how much of it the batches take.
	There, Booked time.Duration
}

// Load is how busy the next days are.
type Load struct {
	Days []DayLoad
	// Booked and There are the sums of the days; Beyond is work that comes after them.
	Booked, There, Beyond time.Duration
	// FreeOn is the first day with time that no batch takes; zero if there is none within a
	// year.
	FreeOn time.Time
	// Planned are the batches that are planned and not done, by the day on which they start.
	Planned []store.PlannedWork
	// Short is the cloth that the batches that are not cut yet have to buy.
	Short []Short
}

// Short is cloth that a batch has to buy.
type Short struct {
	BatchID int64
	Batch   string
	batch.Shopping
}

// Load says how busy the next days are. Each batch's work is done in the order in which
// batches start, as early as the calendar allows; of one that started earlier, what the days
// since then could hold is taken to be done.
func (s *Service) Load(ctx context.Context, w store.Workshop, days int) (Load, error) {
	work, err := s.store.PlannedWork(ctx, w.ID)
	if err != nil {
		return Load{}, err
	}
	off, err := s.DaysOff(ctx, w.ID)
	if err != nil {
		return Load{}, err
	}
	calendar, err := calendarOf(w, off)
	if err != nil {
		return Load{}, err
	}
	load := book(calendar, s.Today(), days, work)
	load.Planned = work
	for _, b := range work {
		if b.State != "draft" && b.State != "released" {
			continue
		}
		for _, item := range b.Shopping {
			if item.Length > 0 { // whether notions are short depends on the shelf: see ShoppingList
				load.Short = append(load.Short, Short{BatchID: b.BatchID, Batch: b.Name, Shopping: item})
			}
		}
	}
	return load, nil
}

// farAhead is how many days are looked at for when there is time again.
const farAhead = 366

func book(calendar batch.Calendar, today time.Time, days int, work []store.PlannedWork) Load {
	ahead := make([]DayLoad, farAhead)
	for i := range ahead {
		day := today.AddDate(0, 0, i)
		ahead[i] = DayLoad{Day: day, There: time.Duration(calendar.On(day)) * time.Minute}
	}
	var load Load
	for _, b := range work {
		left := b.Worked
		first := 0
		if b.StartsOn.Before(today) {
			left = max(0, left-time.Duration(calendar.Between(b.StartsOn, today.AddDate(0, 0, -1)))*time.Minute)
		} else {
			first = int(b.StartsOn.Sub(today).Hours()) / 24
		}
		for i := first; i < farAhead && left > 0; i++ {
			take := min(left, ahead[i].There-ahead[i].Booked)
			ahead[i].Booked += take
			left -= take
			if i >= days {
				load.Beyond += take
			}
		}
		load.Beyond += left
	}
	load.Days = ahead[:days]
	for _, day := range load.Days {
		load.Booked += day.Booked
		load.There += day.There
	}
	for _, day := range ahead {
		if day.Booked < day.There {
			load.FreeOn = day.Day
			break
		}
	}
	return load
}
