//! `(State, Call or Tick, now)` → events; `State = fold(Event)`; `(State, Event)` → replies.
