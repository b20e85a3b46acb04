"""The compiled half of the techniques: tables, boards, finders and the driver."""
