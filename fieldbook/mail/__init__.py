"""Messages in and out: books that come by mail, answers to them, letters to growers."""
