"""Tests of the job file: reading, judging, saving and the lists that go to a spreadsheet."""
