// Read only by browsers without modules, so written in their words.
document.getElementById('too-old').hidden = false;
document.getElementById('loading').hidden = true;
