package model

import (
	"sync"
	"time"
)

// idle has seasons whose runs are over, for their memory: a run over the next
// site's season computes all of it anew but need not ask for room again.
var idle = sync.Pool{New: func() any { return &Season{} }}

// season returns the input's season or makes one, which leave takes back.
func (in *Input) season() (*Season, error) {
	if in.Season != nil {
		return in.Season, nil
	}
	sn := idle.Get().(*Season)
	if in.Weather != nil {
		sn.w = in.Weather
		sn.begin(in.Zone, in.Now)
		return sn, nil
	}
	sn.begin(in.Zone, in.Now)
	if err := sn.setDays(in.Days, 0); err != nil {
		in.leave(sn)
		return nil, err
	}
	return sn, nil
}

// leave gives up a season that season made.
func (in *Input) leave(sn *Season) {
	if sn == nil || sn == in.Season {
		return
	}
	sn.w, sn.src = nil, nil
	idle.Put(sn)
}

// begin starts a season anew: of what it had before only the memory is left.
func (sn *Season) begin(zone *time.Location, now time.Time) {
	if len(sn.watered) > 0 || sn.caches == nil { // parts may be those of other hours of irrigation
		*sn = Season{w: sn.w}
		sn.init()
	}
	if zone == nil {
		zone = time.UTC
	}
	sn.zone, sn.now = zone, now
	for i := range sn.windows {
		sn.windows[i].again()
	}
	for i := range sn.clocks {
		sn.clocks[i].h = sn.clocks[i].h[:0]
	}
	sn.outdate(0)
}

// again forgets all windows.
func (c *windows) again() { *c = windows{marks: c.marks, w: c.w[:0]} }
