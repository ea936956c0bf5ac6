/** The office's door: on to the list; whoever is not signed in is sent to sign in from there. */
location.replace('list.html');
