"""The service: an HTTP API and a page over the same run folders that the command line writes."""
