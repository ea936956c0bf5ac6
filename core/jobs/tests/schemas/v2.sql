-- What a person who tries to send at once sets waiting again: found without looking at all that waits.
CREATE INDEX outbox_late ON outbox (n) WHERE state = 3 OR (state = 0 AND next_try > 0);
