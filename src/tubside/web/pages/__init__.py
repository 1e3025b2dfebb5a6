"""One file a page; each turns facts into a page, or a form into facts."""
