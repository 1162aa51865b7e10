package batch

import "time"

// Calendar says how many minutes are worked on which day, by all hands together.
type Calendar struct {
	// Minutes by weekday, Sunday first.
	Minutes [7]int
	// Off are days without work, at midnight UTC.
	Off []time.Time
}

// mostDays keeps a calendar without work from being searched for ever.
const mostDays = 3660

// On returns the minutes worked on a day.
func (c Calendar) On(day time.Time) int {
	for _, off := range c.Off {
		if sameDay(off, day) {
			return 0
		}
	}
	return c.Minutes[day.Weekday()]
}

// DoneBy returns the day on which work that starts on a day is finished; ok is false if the
// calendar has too few working minutes within ten years.
func (c Calendar) DoneBy(start time.Time, work time.Duration) (day time.Time, ok bool) {
	day = start
	for range mostDays {
		if minutes := c.On(day); minutes > 0 {
			work -= time.Duration(minutes) * time.Minute
			if work <= 0 {
				return day, true
			}
		}
		day = day.AddDate(0, 0, 1)
	}
	return time.Time{}, false
}

// Between returns the minutes worked from one day to another, both included.
func (c Calendar) Between(from, to time.Time) int {
	total := 0
	for day := from; !day.After(to); day = day.AddDate(0, 0, 1) {
		total += c.On(day)
	}
	return total
}

func sameDay(a, b time.Time) bool {
	ay, am, ad := a.Date()
	by, bm, bd := b.Date()
	return ay == by && am == bm && ad == bd
}

// WorkDay is a day with the work that is done on it.
type WorkDay struct {
	On   time.Time
	Work time.Duration
}

// Days spreads work over the working days from a start, none for no work. Work that does not
// fit into ten years is left out.
func (c Calendar) Days(start time.Time, work time.Duration) []WorkDay {
	var days []WorkDay
	for i := 0; i < mostDays && work > 0; i++ {
		day := start.AddDate(0, 0, i)
		if done := min(work, time.Duration(c.On(day))*time.Minute); done > 0 {
			days = append(days, WorkDay{day, done})
			work -= done
		}
	}
	return days
}
