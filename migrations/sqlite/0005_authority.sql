-- On whose word things stand: since when a seat's holder has it, and which key set an address.

-- Number of the event since which the seat's holder has it: what was sealed for its side before is not open to them. 0 for
-- those who had their seat before this was kept.
ALTER TABLE seats ADD COLUMN reads_after BIGINT NOT NULL DEFAULT 0;

-- Id of the key that set the address; the key that renews it inherits it. NULL for those set before this was kept.
ALTER TABLE notice_addresses ADD COLUMN set_by TEXT;
CREATE INDEX notice_addresses_by_key ON notice_addresses (set_by) WHERE set_by IS NOT NULL;
