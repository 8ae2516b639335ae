declare module "*.css"; // bundled into a style sheet of the same name
