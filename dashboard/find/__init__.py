"""Finding a site, a person, a meter, a job or a file from any page."""
