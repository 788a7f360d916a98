"""Ways of reading contacts, compared for one console: what each takes, what it leaves of the margins, why it is refused."""
