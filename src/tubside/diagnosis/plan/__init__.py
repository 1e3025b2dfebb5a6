"""The job as one staged problem: phone, visit, second trip; its plan, and what is proven of it."""
