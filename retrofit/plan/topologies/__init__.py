"""Ways of reading contacts, compared for one console: what each takes, what margins it leaves, why it is refused."""
