"""Decisions and bookkeeping around the physics: what a layout must satisfy, and the search for one."""
