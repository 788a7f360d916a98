"""The scan: where points lie, how long a scan takes, how often it is made."""
