"""Files of records: kept whole whatever happens, refused with words when they are not ours, compared."""
