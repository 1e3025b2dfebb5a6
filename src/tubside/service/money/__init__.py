"""Money of a job: price book, quotes, invoices, payments, and what is owed."""
