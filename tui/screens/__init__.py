"""The pages of the dashboard; header, banners, prompt and key bar stay around whichever is shown."""
